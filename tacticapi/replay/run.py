"""Many pieces of advice given again: over a pool of processes, and on from where an earlier run ended."""

import json
import multiprocessing
import os
from collections import deque
from collections.abc import Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack
from pathlib import Path
from typing import Any, TextIO

from tacticapi.advice import Adviser
from tacticapi.domain.rulebook import Rulebook
from tacticapi.replay.recompute import Outcome, recompute
from tacticapi.service import Desk
from tacticapi.service.clubs import known_club
from tacticapi.service.codec import decode, encode
from tacticapi.store import Snapshot

AT_ONCE = 64  # pieces of advice read at once; a run that is broken off loses no more than those under way
IN_ONE_GO = 8  # handed to a process at once
AHEAD = 2  # reads whose pieces are under way while an earlier one is still told
PAYS_FROM = 500  # pieces: fewer are done here before other processes have started
SCHEMA = 1


class StateRefused(Exception):
    """The state file belongs to another run; the text says which."""


def advice_ids(desk: Desk, club_id: str) -> list[str]:
    """The ids of all advice that is kept of a club, oldest first. Raises NotFound."""
    with desk.reading(club_id) as work:
        known_club(work)
        return work.snapshots.ids()


def replay(
    desk: Desk, club_id: str, *, processes: int = 1, state: Path | None = None, pays_from: int = PAYS_FROM
) -> Iterator[Outcome]:
    """Every outcome, oldest advice first, the same whatever the number of processes.

    processes: how many work side by side, where the job is large enough (pays_from) to repay their start.
    state: a file that keeps the outcomes; what stands there from an earlier run under the same rules is not done
    again. Raises NotFound; StateRefused for the file of another club or other rules.
    """
    done: dict[str, Outcome] = {}
    with ExitStack() as stack:
        keep: TextIO | None = None
        if state is not None:
            done = read_state(state, club_id, desk.rulebook.digest)
            keep = stack.enter_context(state.open("a", encoding="utf-8"))
        todo = len(set(advice_ids(desk, club_id)) - done.keys())
        pool = stack.enter_context(_pool(desk.rulebook, processes)) if processes > 1 and todo >= pays_from else None
        for page, fresh in _under_way(desk, club_id, done, pool):
            for snapshot in page:
                yield done.get(snapshot.id) or _kept(next(fresh), keep)


def _under_way(
    desk: Desk, club_id: str, done: Mapping[str, Outcome], pool: ProcessPoolExecutor | None
) -> Iterator[tuple[list[Snapshot], Iterator[Outcome]]]:
    """Each read with the outcomes of what is not done yet; a pool is at the next ones meanwhile."""
    waiting: deque[tuple[list[Snapshot], Iterator[Outcome]]] = deque()
    for page in _pages(desk, club_id):
        todo = [snapshot for snapshot in page if snapshot.id not in done]
        if pool is None:
            yield page, (recompute(snapshot, desk.adviser) for snapshot in todo)
            continue
        waiting.append((page, pool.map(_one, todo, chunksize=IN_ONE_GO)))
        if len(waiting) > AHEAD:
            yield waiting.popleft()
    yield from waiting


def read_state(path: Path, club_id: str, digest: str) -> dict[str, Outcome]:
    """What an earlier run found, by id; begins the file where there is none. A line that was cut off is taken out.

    Raises StateRefused.
    """
    head = {"replay": SCHEMA, "club_id": club_id, "digest": digest}
    text = path.read_text(encoding="utf-8") if path.exists() else ""
    whole = text[: text.rfind("\n") + 1]
    if not whole:
        path.write_text(_line(head), encoding="utf-8")
        return {}
    first, *lines = (_json(line) for line in whole.splitlines())
    if first != head:
        raise StateRefused(f"{path} is the state of a replay of another club or under other rules: choose a new file")
    for number, line in enumerate(lines, start=2):
        if not isinstance(line, dict) or "id" not in line:
            raise StateRefused(f"{path}, line {number} is broken: take it out, or choose a new file")
    if whole != text:
        path.write_text(whole, encoding="utf-8")
    return {line["id"]: decode(Outcome, line) for line in lines}


def _pages(desk: Desk, club_id: str) -> Iterator[list[Snapshot]]:
    after: str | None = None
    while True:
        with desk.reading(club_id) as work:
            known_club(work)
            page = work.snapshots.find(after=after, limit=AT_ONCE)
        if not page:
            return
        yield page
        after = page[-1].id


def _kept(outcome: Outcome, keep: TextIO | None) -> Outcome:
    if keep is not None:
        keep.write(_line(encode(outcome)))
        keep.flush()
    return outcome


def _line(content: Any) -> str:
    return json.dumps(content, ensure_ascii=False, separators=(",", ":")) + "\n"


def _json(line: str) -> Any:
    try:
        return json.loads(line)
    except ValueError:
        return None


_adviser: Adviser | None = None


def _prepare(rulebook: Rulebook) -> None:
    global _adviser  # noqa: PLW0603 - one adviser a process: the rules are compiled once
    _adviser = Adviser(rulebook)


def _one(snapshot: Snapshot) -> Outcome:
    assert _adviser is not None
    return recompute(snapshot, _adviser)


def _pool(rulebook: Rulebook, processes: int) -> ProcessPoolExecutor:
    """Processes that never held a matcher, since each must have one of its own; what they import is imported once."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([__name__])
    return ProcessPoolExecutor(processes, context, _prepare, (rulebook,))
