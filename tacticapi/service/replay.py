"""Stored advice recomputed under today's rules: what would differ, and why. Nothing kept is changed."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.inference.failures import TooManyMatches
from tacticapi.service.advising import HEALTH_REMOVED
from tacticapi.service.clubs import known_club
from tacticapi.service.codec import decode, encode
from tacticapi.service.desk import Desk
from tacticapi.service.earlier import told_apart
from tacticapi.service.permits import withheld_now
from tacticapi.service.situations import read_kept
from tacticapi.service.tried import current_tactic
from tacticapi.store import Snapshot

Advised = Mapping[str, Any]  # advice as it is kept
WhyNot = Callable[[str], str]

SAME, DIFFERS, LEFT_OUT = "same", "differs", "left out"
UNREADABLE = "its situation is one that this version cannot read"
WITHHELD = "its match is being played, and only safety may be shown of it now"
TOO_MANY = "its situation fits today's rules in too many ways"
AT_ONCE = 64  # pieces of advice read at once
SMALLEST_MOVE = 0.005  # of a probability that is told with two digits
MOVES_TOLD = 3
NOT_COMPARED = frozenset({"version", "digest"})  # they say which rules answered, not what


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one piece of advice: `sort` is same, differs or left out; `told` says what and why."""

    id: str
    match_id: str
    moment: str
    sort: str
    told: tuple[str, ...] = ()


def count(desk: Desk, club_id: str) -> int:
    """Return how many pieces of advice are kept of a club. Raises NotFound."""
    with desk.reading(club_id) as work:
        known_club(work)
        return len(work.snapshots.ids())


def replay(desk: Desk, club_id: str) -> Iterator[Outcome]:
    """Recompute all advice that is kept of a club, oldest first. Raises NotFound."""
    after: str | None = None
    while True:
        with desk.reading(club_id) as work:
            known_club(work)
            page = work.snapshots.find(after=after, limit=AT_ONCE)
            silent = {m for m in {s.match_id for s in page} if withheld_now(desk, read_kept(work, m))}
        if not page:
            return
        for snapshot in page:
            if snapshot.match_id in silent:
                yield _outcome(snapshot, LEFT_OUT, WITHHELD)
            else:
                yield recompute(snapshot, desk.adviser)
        after = page[-1].id


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


def differences(
    then: Advised, fired: Sequence[Mapping[str, Any]], now: Advised, why_not: WhyNot, rulebook: Rulebook
) -> tuple[str, ...]:
    """What differs, the weightiest first; nothing where both say the same.

    `fired` are the rules that fired then; `why_not` says of a tactic why today's rules do not suggest it here.
    """
    if not any(then.get(name) != now[name] for name in now.keys() - NOT_COMPARED):
        return ()
    told = [
        *_lines("safety", then, now, lambda tactic: "by today's rules"),
        *_lines("suggestions", then, now, why_not),
        *_new(then, fired, now),
        *_order(then, now),
        *_plan(then, now),
    ]
    moved = list(_beliefs(then, now, rulebook))
    if told:
        return (*told, *moved)
    named = ", ".join(sorted(name for name in now.keys() - NOT_COMPARED if then.get(name) != now[name]))
    return (f"the same advice; other words or figures in {named}", *moved)


def _lines(where: str, then: Advised, now: Advised, why_not: WhyNot) -> Iterator[str]:
    """What was said then and is not said now, and safety that is new."""
    shown = {line["tactic"] for line in now[where]}
    for line in then[where]:
        if line["tactic"] not in shown:
            yield f"{line['tactic']} is no longer {_said(where)}: {why_not(line['tactic'])}"
    if where == "safety":
        known = {line["tactic"] for line in then[where]}
        yield from (f"{t} is now said as safety" for line in now[where] if (t := line["tactic"]) not in known)


def _said(where: str) -> str:
    return "said as safety" if where == "safety" else "suggested"


def _new(then: Advised, fired: Sequence[Mapping[str, Any]], now: Advised) -> Iterator[str]:
    """What is suggested now and was not then, with what became of it then."""
    known, held = {line["tactic"] for line in then["suggestions"]}, {h["tactic"]: h for h in then["held_back"]}
    for line in now["suggestions"]:
        tactic = line["tactic"]
        if tactic in known:
            continue
        if tactic in held:
            before = f"it was held back ({held[tactic]['reason']}): {held[tactic]['why']}"
        elif any(match["rule"].startswith(f"tactic/{tactic}/") for match in fired):
            before = "its conditions held, but other tactics took the places"
        else:
            before = "no rule of it fired"
        yield f"{tactic} is now suggested, as number {line['rank']}; then {before}"


def _order(then: Advised, now: Advised) -> Iterator[str]:
    before, after = ([line["tactic"] for line in each["suggestions"]] for each in (then, now))
    if sorted(before) == sorted(after) and before != after:
        yield f"another order: {', '.join(after)}; then {', '.join(before)}"


def _plan(then: Advised, now: Advised) -> Iterator[str]:
    if then["plan"] != now["plan"]:
        yield f"the plan is {now['plan'] or 'not told'}, then {then['plan'] or 'not told'}: {now['plan_why'] or '-'}"


def _beliefs(then: Advised, now: Advised, rulebook: Rulebook) -> Iterator[str]:
    """The beliefs that moved furthest."""
    before = {(one["trait"], one["wing"]): one["probability"] for one in then["beliefs"]}
    after = {(one["trait"], one["wing"]): one["probability"] for one in now["beliefs"]}
    moves = [(abs(after[key] - before[key]), key) for key in after.keys() & before.keys()]
    shown = sorted((-size, key[0], key[1] or "") for size, key in moves if size >= SMALLEST_MOVE)
    for _, trait, wing in shown[:MOVES_TOLD]:
        key = (trait, wing or None)
        name = rulebook.traits[trait].title.lower() + (f" ({wing})" if wing else "")
        yield f"belief: {name} {after[key]:.2f}, then {before[key]:.2f}"
