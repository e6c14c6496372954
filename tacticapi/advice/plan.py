"""Keep or change: a verdict on what was tried, slow to move on small counts."""

from collections.abc import Sequence

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Plan
from tacticapi.value import TryVerdict


def plan_losing(verdicts: Sequence[TryVerdict], chance: float) -> bool:
    """Whether a tactic tried often enough does worse than the baseline with at least this chance."""
    return any(v.enough and v.worse >= chance for v in verdicts)


def plan_winning(verdicts: Sequence[TryVerdict], chance: float) -> bool:
    """Whether a tactic tried often enough does better than the baseline with at least this chance."""
    return any(v.enough and 1.0 - v.worse >= chance for v in verdicts)


def plan_verdict(verdicts: Sequence[TryVerdict], rulebook: Rulebook) -> tuple[Plan, str]:
    """Return the verdict and its reason in counts. Verdicts come with the likeliest to do worse first."""
    rule = rulebook.defaults["plan"]
    if not verdicts:
        return Plan.KEEP, "no tactic has been tried yet, so nothing speaks against the plan"
    judged = [v for v in verdicts if v.enough]
    worst = (judged or list(verdicts))[0]
    counts = _counts(worst, rulebook)
    if not judged:
        return Plan.KEEP, f"{counts}: fewer than {rule['tries']} tries are too few to tell, look again"
    if worst.worse >= rule["worse"]:
        usual = f"worse than the {worst.baseline:.2f} of the points won without it"
        return Plan.CHANGE, f"{counts}: the chance is {worst.worse:.2f} that it does {usual}"
    return Plan.KEEP, f"{counts}: not clearly worse than without it (chance {worst.worse:.2f})"


def _counts(verdict: TryVerdict, rulebook: Rulebook) -> str:
    tried = verdict.tries
    return f"{rulebook.tactics[tried.tactic].title}: {tried.won} of {tried.tried} points won"
