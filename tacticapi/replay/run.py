"""Many pieces of advice given again: over a pool of processes, and on from where an earlier run ended."""

import json
import multiprocessing
import os
from collections.abc import Iterator
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

AT_ONCE = 64  # pieces of advice in memory; a run that is broken off loses no more
IN_ONE_GO = 4  # handed to a process at once
SCHEMA = 1


class StateRefused(Exception):
    """The state file belongs to another run; the text says which."""


def advice_ids(desk: Desk, club_id: str) -> list[str]:
    """The ids of all advice that is kept of a club, oldest first. Raises NotFound."""
    with desk.reading(club_id) as work:
        known_club(work)
        return [snapshot.id for snapshot in work.snapshots.stream()]


def replay(desk: Desk, club_id: str, *, processes: int = 1, state: Path | None = None) -> Iterator[Outcome]:
    """Every outcome, oldest advice first, the same whatever the number of processes.

    state: a file that keeps the outcomes; what stands there from an earlier run under the same rules is not done
    again. Raises NotFound; StateRefused for the file of another club or other rules.
    """
    done: dict[str, Outcome] = {}
    with ExitStack() as stack:
        keep: TextIO | None = None
        if state is not None:
            done = read_state(state, club_id, desk.rulebook.digest)
            keep = stack.enter_context(state.open("a", encoding="utf-8"))
        pool = stack.enter_context(_pool(desk.rulebook, processes)) if processes > 1 else None
        for page in _pages(desk, club_id):
            todo = [snapshot for snapshot in page if snapshot.id not in done]
            fresh = pool.map(_one, todo, chunksize=IN_ONE_GO) if pool else (recompute(s, desk.adviser) for s in todo)
            for snapshot in page:
                outcome = done.get(snapshot.id) or _kept(next(fresh), keep)
                yield outcome


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
    lines = [_json(line) for line in whole.splitlines()]
    if lines[0] != head:
        raise StateRefused(f"{path} is the state of a replay of another club or under other rules: choose a new file")
    if whole != text:
        path.write_text(whole, encoding="utf-8")
    return {line["id"]: decode(Outcome, line) for line in lines[1:]}


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
    """New processes and no forks, since each must have a matcher of its own; one thread each."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    return ProcessPoolExecutor(processes, multiprocessing.get_context("spawn"), _prepare, (rulebook,))
