"""What was suggested, what became of it, what was tried and won."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.pricing.baseline import Baseline, judge_tries
from tacticapi.service.debrief.intervals import Share, wilson
from tacticapi.service.feedback import NOT_USED, OUTCOME, USED
from tacticapi.service.tried import current_tactic
from tacticapi.store import Feedback, Snapshot


@dataclass(frozen=True, slots=True)
class TacticLine:
    """One tactic of the match.

    `suggested` counts the advice that showed it, `first` how often it stood first; `used` and `not_used` count
    feedback, `reasons` say why not, `outcomes` how it turned out. `worse` is the chance (0 to 1) that it does worse
    than going without it, None when it was not tried; `enough` whether that many tries can tell.
    """

    tactic: str
    title: str
    suggested: int
    first: int
    used: int
    not_used: int
    reasons: tuple[str, ...]
    outcomes: tuple[str, ...]
    tries: Share
    worse: float | None
    enough: bool


def tactic_lines(
    snapshots: Iterable[Snapshot],
    feedback: Sequence[Feedback],
    situation: Situation,
    base: Baseline,
    rulebook: Rulebook,
) -> tuple[TacticLine, ...]:
    """Every tactic that was suggested or tried: most tried first, then most suggested, then by id."""
    suggested, first = _counts(snapshots, rulebook)
    coverage = float(rulebook.defaults["debrief"]["interval"])
    tried = {tries.tactic: tries for tries in situation.tries}
    verdicts = {v.tries.tactic: v for v in judge_tries(situation, rulebook.tactics, base, rulebook.defaults)}
    lines = []
    for tactic in suggested.keys() | tried.keys():
        said = [line for line in feedback if current_tactic(line.tactic, rulebook) == tactic]
        kinds = Counter(line.kind for line in said)
        verdict, tries = verdicts.get(tactic), tried.get(tactic)
        lines.append(
            TacticLine(
                tactic=tactic,
                title=rulebook.tactics[tactic].title,
                suggested=suggested[tactic],
                first=first[tactic],
                used=kinds[USED],
                not_used=kinds[NOT_USED],
                reasons=tuple(line.reason for line in said if line.kind == NOT_USED and line.reason),
                outcomes=tuple(line.reason for line in said if line.kind == OUTCOME and line.reason),
                tries=wilson(tries.won, tries.tried, coverage) if tries else wilson(0, 0, coverage),
                worse=verdict.worse if verdict else None,
                enough=verdict is not None and verdict.enough,
            )
        )
    return tuple(sorted(lines, key=lambda line: (-line.tries.of, -line.suggested, line.tactic)))


def _counts(snapshots: Iterable[Snapshot], rulebook: Rulebook) -> tuple[Counter[str], Counter[str]]:
    suggested, first = Counter[str](), Counter[str]()
    for snapshot in snapshots:
        shown = [current_tactic(line["tactic"], rulebook) for line in snapshot.advice["suggestions"]]
        suggested.update(tactic for tactic in shown if tactic)
        first.update(tactic for tactic in shown[:1] if tactic)
    return suggested, first
