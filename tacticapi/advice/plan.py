"""Judge the plan (keep, adjust or change), and report what changed since the last advice."""

from collections.abc import Iterable, Mapping, Sequence, Set
from typing import Any

from tacticapi.advice.selection import Value
from tacticapi.domain.advice import AdviceChange, HeldBackTactic, Suggestion
from tacticapi.domain.reasoning import Belief, belief_name
from tacticapi.domain.rules import Rulebook, Touches
from tacticapi.domain.situation import PointsPlayed, Previous, Show, Situation, Tries, Verdict
from tacticapi.evidence.entries import Shift
from tacticapi.pricing.baseline import Judged

WINNING, LOSING = "winning-points", "losing-points"
OWN_ERRORS, BETTER_PLAY = "losing-by-own-errors", "losing-to-better-play"
ASKED = frozenset({WINNING, LOSING, OWN_ERRORS, BETTER_PLAY})
"""Circumstances that affect the verdict."""
BALL_MAKING = "get more balls in first: higher, deeper, further inside the lines"
REASONS_NAMED = 2


def is_condemned(told: Judged, rule: Mapping[str, Any]) -> bool:
    """Report whether a tactic was tried often enough and clearly does worse than playing without it."""
    return told.tried >= int(rule["tries"]) and told.worse >= float(rule["worse"])


def is_doubtful(told: Judged, rule: Mapping[str, Any]) -> bool:
    """Report whether a tactic was tried often enough and seems to do worse than playing without it."""
    return told.tried >= int(rule["tries"]) and told.worse >= float(rule["doubt"])


def is_proven(told: Judged, rule: Mapping[str, Any]) -> bool:
    """Report whether a tactic was tried often enough and clearly does better than playing without it."""
    return told.tried >= int(rule["tries"]) and 1.0 - told.worse >= float(rule["worse"])


def best_tried(found: Iterable[Judged], rule: Mapping[str, Any]) -> list[Judged]:
    """Return the tactics that were tried often enough and did better than playing without them, best first."""
    return sorted(
        (one for one in found if one.tried >= int(rule["tries"]) and one.mean > 0 and one.won > one.usual * one.tried),
        key=lambda one: (-one.mean, one.tactic),
    )


def verdict(
    situation: Situation, told: Judged | None, holding: Set[str], rulebook: Rulebook, before: Tries | None = None
) -> tuple[Verdict, str]:
    """Return the verdict on the plan and its reason in counts, at most 25 words.

    `holding` lists the circumstances in `ASKED` that apply; `before` gives the plan's tries before their last change
    of play. The verdict is "change" only if a tactic was carried out often enough and clearly does worse, or if at
    least twenty points were lost to better play. Own errors are corrected before anything is changed, and a game that
    wins points is kept. If the cause of lost points was not counted, the verdict is at most "adjust"; the same applies
    after a change of play until the plan has been tried again.
    """
    rule = rulebook.defaults["plan"]
    counts = tries_words(told) if told and told.tried else ""
    if told and is_condemned(told, rule):
        return Verdict.CHANGE, f"{counts}: it clearly does worse than playing without it"
    answered = before is not None and before.tried > 0  # points won before the change say nothing about now
    if told and is_doubtful(told, rule) and (answered or WINNING not in holding):
        return Verdict.ADJUST, f"{counts}: use it less until it pays"
    if by_points := _by_points(situation, counts, holding):
        proven = told is not None and is_proven(told, rule) and OWN_ERRORS in holding and LOSING not in holding
        return (Verdict.KEEP, f"{counts}: it pays; your own errors cost you the other points") if proven else by_points
    if answered and before and told and told.tried < int(rule["tries"]):
        since = f"{told.won} of {told.tried} since" if told.tried else "not tried since"
        return Verdict.ADJUST, f"their play has changed: {before.won} of {before.tried} points won before, {since}"
    if not told or not counts:
        return Verdict.KEEP, "no points marked as played by the plan yet; no reason to change it"
    why = "better so far" if told.won > told.usual * told.tried else "not clearly worse"
    why = "it pays" if is_proven(told, rule) else why
    if told.tried < int(rule["tries"]):
        why = f"too few tries to tell (at least {rule['tries']} needed)"
    return Verdict.KEEP, f"{counts}: {why}"


def _by_points(situation: Situation, counts: str, holding: Set[str]) -> tuple[Verdict, str] | None:
    """Return the verdict that points and errors alone suggest, whatever the plan, or None."""
    played, own = situation.points_played or PointsPlayed(), situation.own_errors
    points = f"you won {played.serve_won + played.return_won} of {played.serve_of + played.return_of} points"
    errors = f"{own.unforced} of the {own.of} points you lost were your own errors" if own else ""
    if WINNING in holding:
        return Verdict.KEEP, "; ".join(filter(None, (f"{points}: keep a winning game", counts)))
    if OWN_ERRORS in holding:
        return Verdict.ADJUST, f"{errors}: {BALL_MAKING}"
    if LOSING in holding and BETTER_PLAY in holding:
        return Verdict.CHANGE, f"{points}, and only {errors}: they are playing better"
    if LOSING in holding:
        return Verdict.ADJUST, f"{points}; change one simple thing, such as height or depth"
    return None


def tries_words(told: Judged) -> str:
    """Describe the points won with a tactic, compared with the share usually won on such points without it."""
    points = "points" if told.touches is Touches.BOTH else f"{told.touches} points"
    return f"{told.won} of {told.tried} {points} won with it, {100 * told.usual:.0f} in 100 without"


def changed_since(
    previous: Previous | None,
    rulebook: Rulebook,
    *,
    suggestions: Sequence[Suggestion],
    values: Mapping[str, Value],
    held: Iterable[HeldBackTactic],
    beliefs: Iterable[Belief],
    shifts: Iterable[Shift],
) -> tuple[AdviceChange, ...]:
    """List changes since the last advice: the first suggestion, beliefs (largest change first), the opponent's play."""
    lines: list[AdviceChange] = []
    if previous is not None:
        if previous.first is not None and suggestions and suggestions[0].tactic != previous.first:
            lines.append(_first(previous.first, suggestions[0], values, held, rulebook))
        lines += _beliefs(previous, beliefs, rulebook)
    for shift in shifts:
        text, change = f"Their play has changed: {shift_words(shift, rulebook)}", shift.change
        lines.append(AdviceChange("play", text, None, shift.wing, change.before, change.since, shift.observations))
    return tuple(lines)


def _first(
    before: str, now: Suggestion, values: Mapping[str, Value], held: Iterable[HeldBackTactic], rulebook: Rulebook
) -> AdviceChange:
    title = rulebook.tactics[before].title if before in rulebook.tactics else before
    set_aside = next((h.why for h in held if h.tactic == before), None)
    if set_aside is not None:
        why = f'"{title}" is held back: {set_aside}'
    elif before not in values:
        why = f'the conditions for "{title}" are no longer met'
    elif rulebook.tactics[now.tactic].show is not Show.GAIN:
        why = "it comes before tactics that are ranked by gain"
    else:
        lead = values[now.tactic].match - values[before].match
        why = f"it adds {lead:.3f} more to the chance of winning the match"
    places = tuple(sorted({r.observation for r in now.because if r.observation is not None}))
    return AdviceChange("first", f'"{now.title}" now comes first, instead of "{title}": {why}', observations=places)


def _beliefs(previous: Previous, beliefs: Iterable[Belief], rulebook: Rulebook) -> list[AdviceChange]:
    moved: list[AdviceChange] = []
    for belief in beliefs:
        before = _believed(previous, belief, rulebook)
        if before is not None and abs(belief.probability - before) >= float(rulebook.defaults["plan"]["moved"]):
            moved.append(_moved(belief, before, rulebook))
    return sorted(moved, key=lambda c: -abs((c.after or 0.0) - (c.before or 0.0)))


def _believed(previous: Previous, belief: Belief, rulebook: Rulebook) -> float | None:
    """Return the earlier probability, posted as trait/wing or as the trait alone, or None if it is unknown."""
    if previous.beliefs is None:
        return None
    by_wing = previous.beliefs.get(belief_name(belief.trait, belief.wing))
    if by_wing is None and len(rulebook.traits[belief.trait].wings) == 1:
        return previous.beliefs.get(belief.trait, belief.prior)
    return belief.prior if by_wing is None else by_wing


def _moved(belief: Belief, before: float, rulebook: Rulebook) -> AdviceChange:
    rises = belief.probability > before
    speaking = [c for c in belief.contributions if c.observations and (c.log_odds > 0) is rises][:REASONS_NAMED]
    title = rulebook.traits[belief.trait].title + (f" ({belief.wing})" if belief.wing else "")
    unnamed = "with all observations weighed together"
    why = f"because of {' and '.join(c.text for c in speaking)}" if speaking else unnamed
    text = f"{title}: {'more' if rises else 'less'} likely, {before:.2f} before and {belief.probability:.2f} now, {why}"
    places = tuple(sorted({place for c in speaking for place in c.observations}))
    return AdviceChange("belief", text, belief.trait, belief.wing, before, belief.probability, places)


def shift_words(shift: Shift, rulebook: Rulebook) -> str:
    """Describe a change in the opponent's play: what changed, the shares before and after, and since which game."""
    change = shift.change
    name = rulebook.kinds[shift.what].says
    part = ", ".join(str(word) for word in (shift.option, shift.wing) if word and word not in name)
    named = f"{name} ({part})" if part else name
    shares = f"about {change.before:.0%} before set {shift.since[0]} game {shift.since[1]} and {change.since:.0%} since"
    return f"{named}, {shares} (probability of a change {change.chance:.2f})"
