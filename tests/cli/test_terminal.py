"""At a terminal: a bar while long work goes on, and a shell that completes commands. Elsewhere: silence."""

import io
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from tacticapi.cli import main
from tacticapi.cli.text import progress_over

PROGRAM = Path(sys.executable).parent / "tacticapi"


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def shown_on(stream: io.StringIO, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(sys, "stderr", stream)
    with progress_over(range(3), 3, "Importing") as items:
        assert list(items) == [0, 1, 2]
    return stream.getvalue()


def test_a_terminal_is_shown_how_far_long_work_has_come(monkeypatch):
    shown = shown_on(Terminal(), monkeypatch)
    assert "Importing" in shown
    assert "100%" in shown


def test_a_file_or_a_pipe_is_shown_nothing(monkeypatch):
    assert shown_on(io.StringIO(), monkeypatch) == ""


def test_bash_completes_a_command(tmp_path):
    script = CliRunner().invoke(main, env={"_TACTICAPI_COMPLETE": "bash_source"}, prog_name="tacticapi")
    assert script.exit_code == 0
    (tmp_path / "script").write_text(script.output)
    ask = (
        "source ./script; COMP_WORDS=(tacticapi rules ex); COMP_CWORD=2; COMPREPLY=(); "
        f'_tacticapi_completion {PROGRAM}; echo "${{COMPREPLY[@]}}"'
    )
    done = subprocess.run(["bash", "-c", ask], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["explain"]
