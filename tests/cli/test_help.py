"""Every command shows how it is called and how it may end; a terminal completes commands."""

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from tacticapi.cli import MEANINGS, main

DOCUMENT = Path(__file__).parents[2] / "docs" / "command-line.md"


def commands(command: click.Command = main, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    yield path
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            assert below is not None
            yield from commands(below, (*path, name))


def spoken(path: tuple[str, ...]) -> str:
    return " ".join(("tacticapi", *path))


@pytest.mark.parametrize("path", commands(), ids=spoken)
def test_every_command_shows_an_example_of_itself(path):
    told = CliRunner().invoke(main, [*path, "--help"])
    assert told.exit_code == 0
    _, found, examples = told.output.partition("Example")
    assert found
    assert f"{spoken(path)} " in examples or f"{spoken(path)}\n" in examples


def test_the_list_of_commands_needs_no_more_than_the_command_line():
    ask = "import sys; from tacticapi.cli import main; main(['--help'], standalone_mode=False); print(*sys.modules)"
    told = subprocess.run([sys.executable, "-c", ask], check=True, capture_output=True, text=True).stdout
    listed, modules = told[: told.index("Exit statuses")], set(told.splitlines()[-1].split())
    assert all(re.search(rf"^  {path[0]} +[A-Z].+\.$", listed, re.MULTILINE) for path in commands() if path)
    assert not modules & {"flask", "numpy", "scipy", "sqlalchemy", "durable", "gunicorn", "yaml"}


def test_the_statuses_stand_under_the_help_and_in_the_documentation():
    help_text = re.sub(r"\s+", " ", CliRunner().invoke(main, ["--help"]).output)
    document = DOCUMENT.read_text(encoding="utf-8")
    for status, meaning in MEANINGS.items():
        assert f"{status} {meaning}" in help_text
        assert f"| {status} | {meaning} |" in document
    assert len(re.findall(r"^\| \d \|", document, re.MULTILINE)) == len(MEANINGS)


def test_the_documentation_names_every_command():
    document = DOCUMENT.read_text(encoding="utf-8")
    for path in commands():
        if path:
            assert f"`{path[-1]}`" in document or f"`{spoken(path)}" in document, spoken(path)


def test_a_command_that_there_is_not_cannot_be_used():
    unknown = CliRunner().invoke(main, ["advise"])
    assert unknown.exit_code == 2
    assert unknown.stderr.splitlines()[-1] == "Error: No such command 'advise'."


PROGRAM = Path(sys.executable).parent / "tacticapi"


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
