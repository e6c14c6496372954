"""What earlier matches taught of an opponent: each match by itself, the dossier of all, where the next one begins.

It holds playing facts only: nothing physical, no safety sign, no conduct, no delays. A match that goes on is no part
of it, and while only safety may be read of that match, nothing of the dossier is told.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from math import copysign, exp, log

from tacticapi.club.health import health_of
from tacticapi.club.players import known_player
from tacticapi.club.scorekeeping import state_after
from tacticapi.club.services import NotFound, Refused, Services, refuse
from tacticapi.club.situations import KeptMatch, alone_in_words, read_kept, situation, withheld_now
from tacticapi.domain.advice import Advice, Reason, Suggestion
from tacticapi.domain.reasoning import Belief, Contribution, belief_name
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Earlier, Moment, Phase, Situation, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.store import Match, Player, UnitOfWork

NEVER_TRAITS = frozenset({"delays_play"})
NEVER_SUBJECTS = frozenset({"physical", "conduct"})
SECONDS_A_DAY = 86_400.0
CERTAIN = 25.0  # log odds, about 1 in 72 billion: beyond them a float no longer tells a chance from certainty
EARLIER_MATCHES = "earlier-matches"
DIGITS = 2  # of a probability in words: one that does not move so far is not told
MAX_DAYS = 4  # named; how many more there are is said
BEGINS = "Some beliefs begin from earlier matches against this opponent ({days}). People change: look again."
CLOSED = (
    "What earlier matches taught of this opponent is not used: a match against them goes on, and only safety may be "
    "shown of it now."
)
Key = tuple[str, Wing | None]


@dataclass(frozen=True, slots=True)
class MatchEvidence:
    """One ended match: its beliefs without the opponent's profile; `weight` (0 to 1) is what it still counts."""

    match_id: str
    day: datetime
    surface: str | None
    weight: float
    observations: int
    beliefs: tuple[Belief, ...]


def lesson(
    kept: KeptMatch, surface: str | None, now: datetime, rulebook: Rulebook, model: EvidenceModel
) -> MatchEvidence:
    """Return what a match says by itself, of playing facts alone; `surface` is that of the next match."""
    whole = situation(kept, Moment.AFTER_MATCH, rulebook)
    seen = tuple(one for one in whole.observations if may_be_known(one.what, rulebook))
    there = whole.context.get("surface")
    # places must follow the list again, since evidence names observations by them
    placed = tuple(replace(one, index=place) for place, one in enumerate(seen))
    playing = replace(whole, observations=placed, opponent={}, priors={})
    same = surface is None or there is None or there == surface
    counts = weight(kept.match.started_at, now, rulebook, same_surface=same)
    beliefs = playing_facts(model.believe(playing, state_after(kept.steps)).all)
    return MatchEvidence(kept.match.id, kept.match.started_at, there, counts, len(seen), beliefs)


def weight(started: datetime, now: datetime, rulebook: Rulebook, *, same_surface: bool) -> float:
    """Return what a match still counts: half after every half-life, less on another surface. 0 to 1."""
    figures = rulebook.defaults["dossier"]
    days = max(0.0, (now - started).total_seconds() / SECONDS_A_DAY)
    aged = float(2.0 ** (-days / figures["half_life_days"]))
    return aged if same_surface else aged * float(figures["other_surface"])


def may_be_known(what: str, rulebook: Rulebook) -> bool:
    """Return whether a kind is a playing fact: nothing of health, nothing physical, no conduct."""
    return what.partition(".")[0] not in NEVER_SUBJECTS and what not in health_of(rulebook).kinds


def playing_facts(beliefs: Iterable[Belief]) -> tuple[Belief, ...]:
    """Return the beliefs about how someone plays: nothing of health, no delays."""
    return tuple(belief for belief in beliefs if belief.trait not in NEVER_TRAITS)


def together(weighed: Sequence[tuple[float, Sequence[Belief]]], rulebook: Rulebook) -> dict[Key, float]:
    """Priors moved by the weighed log odds of each match; before a match none is lifted above the ceiling."""
    ceiling = float(rulebook.defaults["evidence"]["warm_up_ceiling"])
    moved: dict[Key, float] = {}
    for share, beliefs in weighed:
        for belief in beliefs:
            before = moved.setdefault((belief.trait, belief.wing), log_odds(belief.prior))
            moved[belief.trait, belief.wing] = before + share * (log_odds(belief.probability) - log_odds(belief.prior))
    capped = {key: min(_chance(odds), max(ceiling, rulebook.traits[key[0]].prior)) for key, odds in moved.items()}
    return _leaving_room(capped, rulebook)


def log_odds(p: float) -> float:
    """Return the log odds of a probability (0 to 1), none further from even than CERTAIN."""
    return log(p / (1.0 - p)) if _chance(-CERTAIN) < p < _chance(CERTAIN) else copysign(CERTAIN, p - 0.5)


def _chance(odds: float) -> float:
    """Return the probability of log odds, none further from even than CERTAIN: neither 0 nor 1 could be moved again."""
    return 1.0 / (1.0 + exp(-max(-CERTAIN, min(CERTAIN, odds))))


def _leaving_room(chances: Mapping[Key, float], rulebook: Rulebook) -> dict[Key, float]:
    """Traits that exclude one another shrunk together where they would leave too little for none of them."""
    max_share = float(rulebook.defaults["dossier"]["exclusive_most"])
    totals: dict[str, float] = {}
    for (trait, _), p in chances.items():
        if group := rulebook.traits[trait].excludes:
            totals[group] = totals.get(group, 0.0) + p
    scale = {group: min(1.0, max_share / total) for group, total in totals.items()}
    return {key: p * scale.get(rulebook.traits[key[0]].excludes or "", 1.0) for key, p in chances.items()}


@dataclass(frozen=True, slots=True)
class DossierBelief:
    """A belief over all matches: `prior` is the rulebook's, `because` says what moved it, newest match first."""

    trait: str
    wing: Wing | None
    title: str
    prior: float
    probability: float
    chances: float
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Dossier:
    """What is believed of one opponent. `playing` are matches that go on and are left out; `withheld` says why
    nothing is told now, None where it is.
    """

    player_id: str
    label: str
    surface: str | None
    matches: tuple[MatchEvidence, ...]
    beliefs: tuple[DossierBelief, ...]
    playing: tuple[str, ...] = ()
    withheld: str | None = None


@dataclass(frozen=True, slots=True)
class LearnedPriors:
    """What ended matches taught for the next one: `priors` by belief name ("trait" or "trait/wing"), newest first.

    They leave out the opponent's profile, which a situation states itself.
    """

    priors: Mapping[str, float]
    earlier: tuple[Earlier, ...]
    withheld: str | None = None


def dossier(services: Services, club_id: str, opponent_id: str, *, surface: str | None = None) -> Dossier:
    """Return the dossier of an opponent as of now; `surface` is that of the next match, on which it counts in full.

    Raises NotFound; Refused for an own player.
    """
    with services.reading(club_id) as work:
        player = known_opponent(work, opponent_id)
        playing, why = _playing(services, work, opponent_id)
        lessons = () if why else _lessons(services, work, opponent_id, surface)
    beliefs = () if why else _beliefs(player, lessons, services.rulebook)
    return Dossier(player.id, player.label, surface, lessons, beliefs, tuple(one.id for one in playing), why)


def taught(
    services: Services, club_id: str, opponent_id: str, *, surface: str | None = None, reads: bool = True
) -> LearnedPriors:
    """Return what the next match begins with.

    reads: whether someone reads it now, so that a match that goes on may keep it closed; else it is only kept.
    Raises NotFound; Refused for an own player.
    """
    with services.reading(club_id) as work:
        known_opponent(work, opponent_id)
        if reads and (why := _playing(services, work, opponent_id)[1]):
            return LearnedPriors({}, (), why)
        lessons = [one for one in _lessons(services, work, opponent_id, surface) if one.observations]
    priors = together([(one.weight, one.beliefs) for one in lessons], services.rulebook)
    return LearnedPriors(
        {belief_name(*key): p for key, p in priors.items()},
        tuple(Earlier(one.day.date(), one.surface) for one in lessons),
    )


def known_opponent(work: UnitOfWork, opponent_id: str) -> Player:
    """Return the opponent of this club. Raises NotFound; Refused for an own player."""
    player = known_player(work, opponent_id)
    if player.side != "opponent":
        raise refuse("an opponent", "opponent_id", value=opponent_id)
    return player


def _playing(services: Services, work: UnitOfWork, opponent_id: str) -> tuple[list[Match], str | None]:
    """Return the opponent's matches that go on, and why one of them keeps the dossier closed."""
    playing = work.matches.find(opponent_id=opponent_id, status="open")
    found = (withheld_now(services, read_kept(work, match.id)) for match in playing)
    return playing, next((alone_in_words(instead) for instead in found if instead), None)


def _lessons(services: Services, work: UnitOfWork, opponent_id: str, surface: str | None) -> tuple[MatchEvidence, ...]:
    """Return what each ended match taught, newest first."""
    ended = work.matches.find(opponent_id=opponent_id, status="ended")
    if not ended:
        return ()
    now, model = services.now(), EvidenceModel(services.rulebook)
    newest_first = sorted(ended, key=lambda match: (match.started_at, match.id), reverse=True)
    return tuple(lesson(read_kept(work, match.id), surface, now, services.rulebook, model) for match in newest_first)


def _beliefs(player: Player, lessons: Sequence[MatchEvidence], rulebook: Rulebook) -> tuple[DossierBelief, ...]:
    """Return every belief that the profile or a match moved, the furthest from its prior first."""
    facts = {key: value for key, value in player.facts.items() if may_be_known(f"opponent.{key}", rulebook)}
    profile = playing_facts(EvidenceModel(rulebook).believe(Situation(Moment.BEFORE_MATCH, opponent=facts)).all)
    weighed = [(1.0, profile, ""), *((one.weight, one.beliefs, f"{one.day:%Y-%m-%d}: ") for one in lessons)]
    parts: dict[Key, list[tuple[float, str]]] = {}
    for share, beliefs, day in weighed:
        for belief in beliefs:
            told = parts.setdefault((belief.trait, belief.wing), [])
            told += [(share * part.chances, day + part.text) for part in belief.contributions]
    found = [
        DossierBelief(
            trait=trait,
            wing=wing,
            title=rulebook.traits[trait].title,
            prior=rulebook.traits[trait].prior,
            probability=p,
            chances=sum(chances for chances, _ in parts[trait, wing]),
            because=tuple(text for _, text in parts[trait, wing]),
        )
        for (trait, wing), p in together([(share, beliefs) for share, beliefs, _ in weighed], rulebook).items()
        if parts[trait, wing]
    ]
    return tuple(sorted(found, key=lambda b: (-abs(b.probability - b.prior), b.trait, b.wing or "")))


@dataclass(frozen=True, slots=True)
class SituationWithPriors:
    """The situation with what earlier matches taught in it; `notice` says why it is without, None where it is not."""

    asked: Situation
    notice: str | None = None


def begun(services: Services, club_id: str, asked: Situation) -> SituationWithPriors:
    """Begin where earlier matches of the opponent that the situation names ended.

    Raises Refused for an opponent whom this club does not have.
    """
    if asked.opponent_id is None:
        return SituationWithPriors(asked)
    try:
        known = taught(services, club_id, asked.opponent_id, surface=asked.context.get("surface"))
    except (NotFound, Refused):
        raise refuse("the id of an opponent of your club", "opponent_id", value=asked.opponent_id) from None
    if known.withheld:
        return SituationWithPriors(asked, CLOSED)
    return SituationWithPriors(replace(asked, priors=known.priors, earlier=known.earlier))


def told_apart(advice: Advice, asked: Situation, rulebook: Rulebook) -> Advice:
    """Return the advice in which each belief and reason that rests on earlier matches says so, with their days.

    A belief's prior is the rulebook's again, and what earlier matches added stands among what moved it.
    """
    if not asked.earlier or not advice.beliefs:
        return advice
    days = days_of(asked.earlier)
    moved = {
        (belief.trait, belief.wing): part
        for belief in advice.beliefs
        if (part := _earlier_part(belief, asked, rulebook, days))
    }
    if not moved:
        return advice
    max_reasons = int(rulebook.defaults["reasons"])
    return replace(
        advice,
        beliefs=tuple(_belief_told_apart(b, moved.get((b.trait, b.wing)), rulebook) for b in advice.beliefs),
        suggestions=tuple(_suggestion_told_apart(shown, moved, max_reasons) for shown in advice.suggestions),
        notice=(BEGINS.format(days=days), *advice.notice),
    )


def days_of(earlier: tuple[Earlier, ...]) -> str:
    """Return the matches in words, newest first: "2026-05-01 on clay, 2026-03-08"."""
    named = [f"{one.day.isoformat()} on {one.surface}" if one.surface else one.day.isoformat() for one in earlier]
    more = len(named) - MAX_DAYS
    return ", ".join(named[:MAX_DAYS]) + (f" and {more} more" if more > 0 else "")


def _earlier_part(belief: Belief, asked: Situation, rulebook: Rulebook, days: str) -> Contribution | None:
    """Return what earlier matches did to a belief; None where it cannot be told from what anyone is believed to be."""
    general, known = rulebook.traits[belief.trait].prior, asked.priors.get(belief_name(belief.trait, belief.wing))
    if known is None or round(known, DIGITS) == round(general, DIGITS):
        return None
    text = f"earlier matches ({days}): {known:.{DIGITS}f} before this one, {general:.{DIGITS}f} of anyone"
    return Contribution(EARLIER_MATCHES, Phase.BEFORE, log_odds(known) - log_odds(general), 0.0, (), text)


def _belief_told_apart(belief: Belief, part: Contribution | None, rulebook: Rulebook) -> Belief:
    if part is None:
        return belief
    parts = sorted((part, *belief.contributions), key=lambda c: (-abs(c.log_odds), c.what, c.text))
    return replace(belief, prior=rulebook.traits[belief.trait].prior, contributions=tuple(parts))


def _suggestion_told_apart(shown: Suggestion, moved: Mapping[Key, Contribution], max_reasons: int) -> Suggestion:
    """Return the suggestion with what earlier matches say for it among its reasons, strongest first."""
    parts = [(rest, moved[rest.trait, rest.wing]) for rest in shown.rests_on if (rest.trait, rest.wing) in moved]
    added = [
        Reason(part.text, EARLIER_MATCHES, trait=rest.trait, wing=rest.wing, log_odds=part.log_odds)
        for rest, part in parts
        if part.log_odds > 0
    ]
    weighed = [reason for reason in shown.because if reason.log_odds is not None]
    others = [reason for reason in shown.because if reason.log_odds is None]
    ordered = sorted((*added, *weighed), key=lambda reason: -(reason.log_odds or 0.0))
    return replace(shown, because=tuple([*ordered, *others][:max_reasons]))
