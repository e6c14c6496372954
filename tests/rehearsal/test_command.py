"""The script prints what was found, and how far it has come."""

from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests import rehearsal
from tests.rehearsal import Manner, Run
from tests.rehearsal.__main__ import rehearse
from tests.rehearsal.world.worlds import WORLDS


def run(*words: object) -> Result:
    return CliRunner().invoke(rehearse, [*map(str, words)])


def test_a_rehearsal_is_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []

    def rehearsed(*words: Any) -> str:
        asked.append(words[:2])
        words[2](1, 2)
        return "a report"

    monkeypatch.setattr(rehearsal, "rehearse", rehearsed)
    monkeypatch.setattr(rehearsal, "render", lambda report: f"# {report}\n")
    told = run("--opponents", 3, "--seed", 7, "--shift", 0, "--world", "club", "--errs", 2, "--beliefs-only")
    assert told.stdout == "# a report\n"
    run("--processes", 1)
    assert asked == [
        (Run(3, 7, 0.0, ("club",), Manner(2.0, beliefs_only=True)), 2),
        (Run(150, 2, 0.3, tuple(WORLDS), Manner()), 1),
    ]


@pytest.mark.parametrize("words", [("--opponents", 0), ("--world", "moon"), ("--fit",)])
def test_what_cannot_be_rehearsed_is_refused(words: tuple[object, ...]) -> None:
    assert run(*words).exit_code == 2
