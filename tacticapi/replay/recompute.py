"""One piece of stored advice, given again."""

from dataclasses import dataclass, replace
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.inference.failures import TooManyMatches
from tacticapi.replay.compare import differences
from tacticapi.service.advising import HEALTH_REMOVED
from tacticapi.service.codec import decode, encode
from tacticapi.service.earlier import told_apart
from tacticapi.service.tried import current_tactic
from tacticapi.store import Snapshot

SAME, DIFFERS, LEFT_OUT = "same", "differs", "left out"
UNREADABLE = "its situation is one that this version cannot read"
TOO_MANY = "its situation fits today's rules in too many ways"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one piece of advice: `sort` is same, differs or left out; `told` says what and why."""

    id: str
    match_id: str
    moment: str
    sort: str
    told: tuple[str, ...] = ()


def recompute(snapshot: Snapshot, adviser: Adviser) -> Outcome:
    """Give a piece of advice again. What today's rules do not know any more is told and left out."""
    if snapshot.health_removed:
        return _outcome(snapshot, LEFT_OUT, HEALTH_REMOVED)
    try:
        situation, gone = known_to(adviser.rulebook, decode(Situation, snapshot.situation))
    except (ValueError, TypeError, KeyError) as error:
        return _outcome(snapshot, LEFT_OUT, f"{UNREADABLE} ({error})")
    try:
        now = encode(told_apart(adviser.recommend(situation), situation, adviser.rulebook))
    except TooManyMatches:
        return _outcome(snapshot, LEFT_OUT, TOO_MANY)
    found = differences(
        snapshot.advice, snapshot.fired, now, lambda tactic: why_not(tactic, situation, adviser), adviser.rulebook
    )
    return _outcome(snapshot, DIFFERS, *found, *gone) if found else _outcome(snapshot, SAME, *gone)


def known_to(rulebook: Rulebook, situation: Situation) -> tuple[Situation, tuple[str, ...]]:
    """The situation without what these rules do not know, and what that was in words."""
    kinds = rulebook.kinds
    gone = {seen.what for seen in situation.observations if seen.what not in kinds}
    gone |= {tries.tactic for tries in situation.tries if tries.tactic not in rulebook.tactics}
    kept: dict[str, Any] = {
        # places must follow the list again, since evidence names observations by them
        "observations": tuple(
            replace(seen, index=place)
            for place, seen in enumerate(seen for seen in situation.observations if seen.what in kinds)
        ),
        "tries": tuple(tries for tries in situation.tries if tries.tactic in rulebook.tactics),
    }
    if not gone:
        return situation, ()
    return replace(situation, **kept), (f"today's rules do not know {', '.join(sorted(gone))}",)


def why_not(tactic: str, situation: Situation, adviser: Adviser) -> str:
    """Why today's rules do not suggest a tactic in this situation."""
    rulebook = adviser.rulebook
    if tactic not in rulebook.tactics:
        return "today's rules do not have it"
    if instead := rulebook.tactics[tactic].deprecated:
        replaced = current_tactic(tactic, rulebook)
        return f"it is retired; {instead if replaced == tactic else replaced or 'nothing'} stands in its place"
    asked = adviser.trace(situation, tactic).questions
    return asked[0].why or asked[0].verdict if asked else "nothing but safety is shown by today's rules"


def _outcome(snapshot: Snapshot, sort: str, *told: str) -> Outcome:
    return Outcome(snapshot.id, snapshot.match_id, snapshot.moment, sort, told)
