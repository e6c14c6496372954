"""The script prints what was found, and how far it has come."""

from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests import rehearsal
from tests.rehearsal.__main__ import rehearse


def run(*words: object) -> Result:
    return CliRunner().invoke(rehearse, [*map(str, words)])


def test_a_rehearsal_is_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []

    def rehearsed(*words: Any) -> str:
        asked.append(words[:4])
        words[4](1, 2)
        return "a report"

    monkeypatch.setattr(rehearsal, "rehearse", rehearsed)
    monkeypatch.setattr(rehearsal, "render", lambda report: f"# {report}\n")
    told = run("--opponents", 3, "--seed", 7, "--processes", 1)
    assert told.stdout == "# a report\n"
    assert asked == [(3, 7, 1, ())]
    assert run("--opponents", 0).exit_code == 2


def test_a_rehearsal_to_fit_gains_prints_a_rule_file(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []

    def suggested(*words: Any) -> str:
        asked.append(words[:3])
        words[3](1, 2)
        return "gains:\n"

    monkeypatch.setattr(rehearsal, "suggested_gains", suggested)
    told = run("--fit", "--opponents", 300, "--seed", 7, "--processes", 1)
    assert told.stdout == "gains:\n"
    assert asked == [(300, 7, 1)]


def test_too_few_opponents_to_fit_are_refused() -> None:
    told = run("--fit", "--opponents", 100)
    assert told.exit_code == 2
    assert "Invalid value for '--opponents': at least 200 opponents" in told.stderr
