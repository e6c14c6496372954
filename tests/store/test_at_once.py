"""Eight processes on one match, and a process killed halfway: nothing lost, nothing doubled."""

import pickle
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tacticapi.club import Services, matches
from tacticapi.club.entries import entries_page

WORKER = Path(__file__).with_name("worker.py")
HALFWAY_S = 0.05
Start = Any


@pytest.fixture
def start(services: Services, url: str, club: str, played: Any, tmp_path: Path) -> Iterator[Start]:
    """Starts workers that wait for a line before they post."""
    rules = tmp_path / "rulebook.pickle"
    rules.write_bytes(pickle.dumps(services.rulebook))
    started: list[subprocess.Popen[str]] = []

    def run(names: str, requests: int, size: int, *more: str) -> subprocess.Popen[str]:
        fixed = [sys.executable, str(WORKER), url, str(rules), club, played.match]
        process = subprocess.Popen(
            [*fixed, names, str(requests), str(size), *more],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        started.append(process)
        return process

    yield run
    for process in started:
        process.kill()
        process.communicate()


def go(process: subprocess.Popen[str]) -> None:
    """Let a worker begin."""
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n", process.communicate()[1]
    process.stdin.write("go\n")
    process.stdin.flush()


def finish(process: subprocess.Popen[str]) -> list[str]:
    """Let a worker do all of its work; the lines that it told."""
    go(process)
    told, errors = process.communicate(timeout=60)
    assert process.returncode == 0, errors
    return told.splitlines()


def kept(services: Services, club: str, match: str) -> Counter[str]:
    """How often each observation is kept, by its ref."""
    entries = entries_page(services, club, match, "observations", limit=100_000)
    sequences = [entry.sequence for entry in entries]
    assert sequences == list(range(1, len(entries) + 1))
    assert matches.revision(services, club, match) == len(entries)
    return Counter(entry.body["ref"] for entry in entries if entry.body)


def test_eight_processes_on_one_match_lose_and_double_nothing(
    services: Services, club: str, played: Any, start: Start
) -> None:
    names = [f"worker-{n}" for n in range(8)]
    finish(start(",".join(names), 6, 3, "again"))
    expected = {f"{name}/{request}/{place}" for name in names for request in range(6) for place in range(3)}
    assert kept(services, club, played.match) == Counter(expected)


def test_the_same_request_from_several_processes_at_once_is_done_once(
    services: Services, club: str, played: Any, start: Start
) -> None:
    finish(start("same,same,same", 5, 2))
    assert kept(services, club, played.match) == Counter(f"same/{r}/{place}" for r in range(5) for place in range(2))


def test_a_process_killed_halfway_loses_nothing_acknowledged(
    services: Services, club: str, played: Any, start: Start
) -> None:
    victim = start("victim", 1000, 40)
    go(victim)
    assert victim.stdout is not None
    acknowledged = [int(victim.stdout.readline())]
    time.sleep(HALFWAY_S)
    victim.kill()
    acknowledged += [int(line) for line in victim.stdout.read().splitlines() if line.isdigit()]
    found = kept(services, club, played.match)
    for request in acknowledged:
        assert all(found[f"victim/{request}/{place}"] == 1 for place in range(40))
    whole = Counter(ref.split("/")[1] for ref in found)
    assert set(whole.values()) == {40}  # a request is kept whole or not at all
    assert max(found.values()) == 1
    requests = len(whole) + 1
    assert finish(start("victim", requests, 40))[-1] == str(requests - 1)
    assert kept(services, club, played.match) == Counter(f"victim/{r}/{p}" for r in range(requests) for p in range(40))
