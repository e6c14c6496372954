"""Several processes on one match, and workers killed in the middle of bulk posting: nothing lost, nothing doubled."""

import pickle
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from tacticapi.club import matches
from tacticapi.club.entries import page_of_match

from ..databases import ENGINES
from .kills import killed

WORKER = Path(__file__).with_name("worker.py")
KILLS = 4  # `python -m tests.store.kills` kills a hundred


@pytest.mark.parametrize(
    ("workers", "requests", "size"), [(tuple(f"worker-{n}" for n in range(8)), 6, 3), (("same",) * 3, 5, 2)]
)
def test_what_several_processes_post_at_once_is_kept_once(
    services, url, club, played, tmp_path, *, workers, requests, size
):
    rules = tmp_path / "rulebook.pickle"
    rules.write_bytes(pickle.dumps(services.rulebook))
    given = [url, str(rules), club, played.match, ",".join(workers), str(requests), str(size)]
    subprocess.run([sys.executable, str(WORKER), *given], check=True, timeout=120)
    kept = page_of_match(services, club, played.match, "observations", limit=100_000)
    assert [entry.sequence for entry in kept] == list(range(1, len(kept) + 1))
    assert matches.revision(services, club, played.match) == len(kept)
    expected = {f"{name}/{n}/{place}" for name in workers for n in range(requests) for place in range(size)}
    assert Counter(entry.body["ref"] for entry in kept if entry.body) == Counter(expected)


@pytest.mark.parametrize("engine", ENGINES)
def test_what_was_acknowledged_is_there_once_and_whole_whatever_worker_dies(engine, tmp_path):
    tally = killed(engine, tmp_path, KILLS)
    assert (tally.lost, tally.doubled, tally.half_written) == (0, 0, 0), tally
    assert tally.acknowledged == tally.posted > 0, tally
    assert tally.kills == KILLS
    assert tally.repeats > 0
