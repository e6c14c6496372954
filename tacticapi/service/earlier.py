"""What earlier matches taught of an opponent: where the next one begins, and said to come from there."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from tacticapi.domain.advice import Advice, Reason, Suggestion
from tacticapi.domain.belief import Belief, Contribution, belief_name
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Earlier, Situation
from tacticapi.domain.terms import Phase
from tacticapi.service.desk import Desk
from tacticapi.service.dossier import taught
from tacticapi.service.errors import NotFound, Refused, refuse
from tacticapi.service.learned import Key, log_odds

WHAT = "earlier-matches"
DIGITS = 2  # of a probability in words: one that does not move so far is not told
MOST_DAYS = 4  # named; how many more there are is said
BEGINS = "Some beliefs begin from earlier matches against this opponent ({days}). People change: look again."
CLOSED = (
    "What earlier matches taught of this opponent is not used: a match against them goes on, and only safety may be "
    "shown of it now."
)


@dataclass(frozen=True, slots=True)
class Begun:
    """The situation with what earlier matches taught in it; `notice` says why it is without, None where it is not."""

    asked: Situation
    notice: str | None = None


def begun(desk: Desk, club_id: str, asked: Situation) -> Begun:
    """Begin where earlier matches of the opponent that the situation names ended.

    Raises Refused for an opponent whom this club does not have.
    """
    if asked.opponent_id is None:
        return Begun(asked)
    try:
        known = taught(desk, club_id, asked.opponent_id, surface=asked.context.get("surface"))
    except (NotFound, Refused):
        raise refuse("the id of an opponent of your club", "opponent_id", value=asked.opponent_id) from None
    if known.withheld:
        return Begun(asked, CLOSED)
    return Begun(replace(asked, priors=known.priors, earlier=known.earlier))


def told_apart(advice: Advice, asked: Situation, rulebook: Rulebook) -> Advice:
    """The advice in which each belief and reason that rests on earlier matches says so, with their days.

    A belief's prior is the rulebook's again, and what earlier matches added stands among what moved it.
    """
    if not asked.earlier or not advice.beliefs:
        return advice
    days = days_of(asked.earlier)
    moved = {
        (belief.trait, belief.wing): part for belief in advice.beliefs if (part := _part(belief, asked, rulebook, days))
    }
    if not moved:
        return advice
    most = int(rulebook.defaults["reasons"])
    return replace(
        advice,
        beliefs=tuple(_belief(b, moved.get((b.trait, b.wing)), rulebook) for b in advice.beliefs),
        suggestions=tuple(_suggestion(shown, moved, most) for shown in advice.suggestions),
        notice=(BEGINS.format(days=days), *advice.notice),
    )


def days_of(earlier: tuple[Earlier, ...]) -> str:
    """The matches in words, newest first: "2026-05-01 on clay, 2026-03-08"."""
    named = [f"{one.day.isoformat()} on {one.surface}" if one.surface else one.day.isoformat() for one in earlier]
    more = len(named) - MOST_DAYS
    return ", ".join(named[:MOST_DAYS]) + (f" and {more} more" if more > 0 else "")


def _part(belief: Belief, asked: Situation, rulebook: Rulebook, days: str) -> Contribution | None:
    """What earlier matches did to a belief; None where it cannot be told from what anyone is believed to be."""
    general, known = rulebook.traits[belief.trait].prior, asked.priors.get(belief_name(belief.trait, belief.wing))
    if known is None or round(known, DIGITS) == round(general, DIGITS):
        return None
    text = f"earlier matches ({days}): {known:.{DIGITS}f} before this one, {general:.{DIGITS}f} of anyone"
    return Contribution(WHAT, Phase.BEFORE, log_odds(known) - log_odds(general), 0.0, (), text)


def _belief(belief: Belief, part: Contribution | None, rulebook: Rulebook) -> Belief:
    if part is None:
        return belief
    parts = sorted((part, *belief.contributions), key=lambda c: (-abs(c.log_odds), c.what, c.text))
    return replace(belief, prior=rulebook.traits[belief.trait].prior, contributions=tuple(parts))


def _suggestion(shown: Suggestion, moved: Mapping[Key, Contribution], most: int) -> Suggestion:
    """The suggestion with what earlier matches say for it among its reasons, strongest first."""
    parts = [(rest, moved[rest.trait, rest.wing]) for rest in shown.rests_on if (rest.trait, rest.wing) in moved]
    added = [
        Reason(part.text, WHAT, trait=rest.trait, wing=rest.wing, log_odds=part.log_odds)
        for rest, part in parts
        if part.log_odds > 0
    ]
    weighed = [reason for reason in shown.because if reason.log_odds is not None]
    others = [reason for reason in shown.because if reason.log_odds is None]
    ordered = sorted((*added, *weighed), key=lambda reason: -(reason.log_odds or 0.0))
    return replace(shown, because=tuple([*ordered, *others][:most]))
