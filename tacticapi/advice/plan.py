"""The verdict on the plan (keep, adjust or change), whether the opponent's play has moved, and what changed since."""

from collections.abc import Iterable, Mapping, Sequence, Set

from tacticapi.advice.selection import Value
from tacticapi.domain.advice import AdviceChange, HeldBackTactic, Suggestion
from tacticapi.domain.reasoning import Belief, belief_name
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Plan, PointsPlayed, Previous, Show, Situation, Wing
from tacticapi.evidence.changes import Shift
from tacticapi.pricing.baseline import TryVerdict

OWN_SUBJECTS = frozenset({"own", "record", "plan"})

_Share = tuple[str, Wing | None, str | None, str | None, str | None]
_Game = tuple[int, int]
WINNING, LOSING = "winning-points", "losing-points"
OWN_ERRORS, BETTER_PLAY = "losing-by-own-errors", "losing-to-better-play"
ASKED = frozenset({WINNING, LOSING, OWN_ERRORS, BETTER_PLAY})
"""The circumstances that the verdict looks at."""
BALL_MAKING = "get more balls in first: higher, deeper, further inside the lines"
REASONS_NAMED = 2


def plan_losing(verdicts: Sequence[TryVerdict], chance: float) -> bool:
    """Report whether a tactic tried often enough does worse than the baseline with at least this chance."""
    return any(v.enough and v.worse >= chance for v in verdicts)


def plan_winning(verdicts: Sequence[TryVerdict], chance: float) -> bool:
    """Report whether a tactic tried often enough does better than the baseline with at least this chance."""
    return any(v.enough and v.better >= chance for v in verdicts)


def plan_verdict(
    situation: Situation, verdicts: Sequence[TryVerdict], holding: Set[str], rulebook: Rulebook
) -> tuple[Plan, str]:
    """Return the verdict and its reason in counts.

    Verdicts come with the likeliest to do worse first; `holding` are those of `ASKED` that hold. Change needs a
    tactic that was carried out often enough and clearly does worse, or twenty points and more that are lost to better
    play. Own errors are put right before anything is changed, and a game that wins points is kept. Fewer tries, or
    points lost for a cause not counted, adjust at most.
    """
    rule = rulebook.defaults["plan"]
    worst = next(iter([v for v in verdicts if v.enough] or verdicts), None)
    words = _tries_words(worst, rulebook) if worst else "no tactic has been tried yet"
    if worst and worst.enough and worst.worse >= rule["worse"]:
        return _losing_tactic(situation, words, holding)
    if WINNING in holding:
        return Plan.KEEP, f"{_points_words(situation)}, so keep a winning game; {words}"
    if OWN_ERRORS in holding:
        return Plan.ADJUST, f"{_errors_words(situation)}: {BALL_MAKING}; {words}"
    if worst and worst.tries.tried >= rule["early"]["tries"] and worst.worse >= rule["early"]["worse"]:
        return Plan.ADJUST, f"{words}; too few tries to drop it, but use it less until it pays"
    if LOSING in holding:
        return _losing_points(situation, words, holding)
    return Plan.KEEP, f"{words}; {_nothing_against(worst, int(rule['tries']))}"


def _losing_points(situation: Situation, words: str, holding: Set[str]) -> tuple[Plan, str]:
    """Return the verdict if clearly fewer than half of the points are won, and not by own errors."""
    if BETTER_PLAY in holding:
        only = f"and only {_errors_words(situation)}: they play better"
        return Plan.CHANGE, f"{_points_words(situation)}, {only}; {words}"
    return Plan.ADJUST, f"{_points_words(situation)}; change one cheap thing, height or depth; {words}"


def _losing_tactic(situation: Situation, words: str, holding: Set[str]) -> tuple[Plan, str]:
    """Return the verdict if a tactic that was tried often enough does clearly worse than going without it."""
    if WINNING in holding:
        return Plan.ADJUST, f"{words}: leave it, and keep the rest, as {_points_words(situation)}"
    if OWN_ERRORS in holding:
        return Plan.ADJUST, f"{_errors_words(situation)}: {BALL_MAKING}, then judge again; {words}"
    return Plan.CHANGE, f"{words}: it clearly does worse than going without it"


def _nothing_against(verdict: TryVerdict | None, tries: int) -> str:
    if verdict is None:
        return "nothing speaks against the plan"
    if verdict.enough:
        return "not clearly worse than without it"
    return f"fewer than {tries} tries are too few to tell, look again"


def _tries_words(verdict: TryVerdict, rulebook: Rulebook) -> str:
    tried = verdict.tries
    counts = f"'{rulebook.tactics[tried.tactic].title}': {tried.won} of {tried.tried} points won"
    usual = f"{verdict.baseline:.2f} of the points won without it"
    more = f"; about {verdict.more} more {'try' if verdict.more == 1 else 'tries'} would tell" if verdict.more else ""
    return f"{counts} against {usual}, so the chance that it is better is {verdict.better:.2f}{more}"


def _points_words(situation: Situation) -> str:
    played = situation.points_played or PointsPlayed()
    return f"you won {played.serve_won + played.return_won} of {played.serve_of + played.return_of} points"


def _errors_words(situation: Situation) -> str:
    errors = situation.own_errors
    return f"{errors.unforced} of the {errors.of} points lost were your own errors" if errors else ""


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
    """Name what changed since the last advice: the first suggestion, beliefs by size of their move, their play."""
    lines: list[AdviceChange] = []
    if previous is not None:
        if previous.first is not None and suggestions and suggestions[0].tactic != previous.first:
            lines.append(_first(previous.first, suggestions[0], values, held, rulebook))
        lines += _beliefs(previous, beliefs, rulebook)
    return (*lines, *(_play(shift, rulebook) for shift in shifts))


def _first(
    before: str, now: Suggestion, values: Mapping[str, Value], held: Iterable[HeldBackTactic], rulebook: Rulebook
) -> AdviceChange:
    title = rulebook.tactics[before].title if before in rulebook.tactics else before
    set_aside = next((h.why for h in held if h.tactic == before), None)
    if set_aside is not None:
        why = f'"{title}" is held back: {set_aside}'
    elif before not in values:
        why = f'the conditions of "{title}" no longer hold'
    elif rulebook.tactics[now.tactic].show is not Show.GAIN:
        why = "it comes before tactics that are ranked by gain"
    else:
        lead = values[now.tactic].match - values[before].match
        why = f"it is worth {lead:.3f} more of the match"
    places = tuple(sorted({r.observation for r in now.because if r.observation is not None}))
    return AdviceChange("first", f'"{now.title}" is first now, no longer "{title}": {why}', observations=places)


def _beliefs(previous: Previous, beliefs: Iterable[Belief], rulebook: Rulebook) -> list[AdviceChange]:
    moved: list[AdviceChange] = []
    for belief in beliefs:
        before = _believed(previous, belief, rulebook)
        if before is not None and abs(belief.probability - before) >= float(rulebook.defaults["plan"]["moved"]):
            moved.append(_moved(belief, before, rulebook))
    return sorted(moved, key=lambda c: -abs((c.after or 0.0) - (c.before or 0.0)))


def _believed(previous: Previous, belief: Belief, rulebook: Rulebook) -> float | None:
    """Return what was believed before, posted as trait/wing, or as the trait alone if it has one belief.

    What an advice did not list had not moved; if nothing was posted, nothing is known.
    """
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
    unnamed = "as all that was seen is read together"
    why = f"because of {' and '.join(c.text for c in speaking)}" if speaking else unnamed
    text = f"{title}: {'more' if rises else 'less'} likely, {before:.2f} before and {belief.probability:.2f} now, {why}"
    places = tuple(sorted({place for c in speaking for place in c.observations}))
    return AdviceChange("belief", text, belief.trait, belief.wing, before, belief.probability, places)


def _play(shift: Shift, rulebook: Rulebook) -> AdviceChange:
    change = shift.change
    name = rulebook.kinds[shift.what].says
    part = ", ".join(str(word) for word in (shift.option, shift.wing) if word and word not in name)
    named = f"{name} ({part})" if part else name
    shares = f"about {change.before:.0%} before set {shift.since[0]} game {shift.since[1]} and {change.since:.0%} since"
    text = f"Their play changed: {named}, {shares} (chance of a change {change.chance:.2f})"
    return AdviceChange("play", text, None, shift.wing, change.before, change.since, shift.observations)
