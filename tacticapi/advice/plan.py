"""Keep, adjust or change: a verdict on what is being played, slow to move on small counts."""

from collections.abc import Mapping, Sequence, Set

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import PointsPlayed, Situation
from tacticapi.domain.terms import Plan
from tacticapi.value import TryVerdict

WINNING, LOSING = "winning-points", "losing-points"
OWN_ERRORS, BETTER_PLAY = "losing-by-own-errors", "losing-to-better-play"
ASKED = frozenset({WINNING, LOSING, OWN_ERRORS, BETTER_PLAY})
"""The circumstances that the verdict looks at."""

BALL_MAKING = "get more balls in first: higher, deeper, further inside the lines"


def plan_losing(verdicts: Sequence[TryVerdict], chance: float) -> bool:
    """Whether a tactic tried often enough does worse than the baseline with at least this chance."""
    return any(v.enough and v.worse >= chance for v in verdicts)


def plan_winning(verdicts: Sequence[TryVerdict], chance: float) -> bool:
    """Whether a tactic tried often enough does better than the baseline with at least this chance."""
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
    if worst and _is_early_sign(worst, rule["early"]):
        return Plan.ADJUST, f"{words}; too few tries to drop it, but use it less until it pays"
    if LOSING in holding:
        return _losing_points(situation, words, holding)
    return Plan.KEEP, f"{words}; {_nothing_against(worst, int(rule['tries']))}"


def _losing_points(situation: Situation, words: str, holding: Set[str]) -> tuple[Plan, str]:
    """The verdict where clearly fewer than half of the points are won, and not by own errors."""
    if BETTER_PLAY in holding:
        only = f"and only {_errors_words(situation)}: they play better"
        return Plan.CHANGE, f"{_points_words(situation)}, {only}; {words}"
    return Plan.ADJUST, f"{_points_words(situation)}; change one cheap thing, height or depth; {words}"


def _losing_tactic(situation: Situation, words: str, holding: Set[str]) -> tuple[Plan, str]:
    """The verdict where a tactic that was carried out often enough does clearly worse than going without it."""
    if WINNING in holding:
        return Plan.ADJUST, f"{words}: leave it, and keep the rest, as {_points_words(situation)}"
    if OWN_ERRORS in holding:
        return Plan.ADJUST, f"{_errors_words(situation)}: {BALL_MAKING}, then judge again; {words}"
    return Plan.CHANGE, f"{words}: it clearly does worse than going without it"


def _is_early_sign(verdict: TryVerdict, early: Mapping[str, float]) -> bool:
    return verdict.tries.tried >= early["tries"] and verdict.worse >= early["worse"]


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
