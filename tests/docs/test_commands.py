"""Every command that the documentation shows works: the `sh` blocks of a page run in order, in a clean folder."""

import os
import re
import signal
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from ..served.running import free_port

ROOT = Path(__file__).parents[2]
BLOCK = re.compile(r"^```(\w+)[^\n]*\n(.*?)^```$", re.MULTILINE | re.DOTALL)
PAGES = sorted([*ROOT.glob("docs/*.md"), *ROOT.glob("tacticapi/web/guide/*.md")])
INSTALL = re.compile(r"^(python3 -m venv|\.venv/bin/pip install|pip install).*$", re.MULTILINE)


def blocks(page: Path, language: str) -> list[str]:
    """Return the fenced blocks of a language, in order."""
    return [text for name, text in BLOCK.findall(page.read_text(encoding="utf-8")) if name == language]


def script_of(page: Path) -> str:
    """Return the page's commands as one script that stops at the first failure.

    The package is installed already: `.venv` points at the environment of the tests, and installing is left out
    (tests/packaging installs the wheel). Port 8000 becomes a free one.
    """
    commands = "\n".join(blocks(page, "sh")).replace("8000", str(free_port()))
    return f'set -euo pipefail\nln -s "{sys.prefix}" .venv\n{INSTALL.sub(":", commands)}\n'


def test_every_command_stands_in_a_block_that_is_run():
    shown = {page.name: [name for name, _ in BLOCK.findall(page.read_text(encoding="utf-8"))] for page in PAGES}
    assert not {page: names for page, names in shown.items() if {"bash", "shell", "console", "zsh"} & set(names)}


@pytest.mark.parametrize("page", [page for page in PAGES if blocks(page, "sh")], ids=lambda page: page.name)
def test_the_commands_of_a_page_work_in_order(page, tmp_path):
    for name in ("rules", "seeds_demo"):
        (tmp_path / name).symlink_to(ROOT / name)
    ours = ("TACTICAPI_", "DATABASE_")
    environment = {name: value for name, value in os.environ.items() if not name.startswith(ours)}
    environment["PATH"] = f"{Path(sys.executable).parent}{os.pathsep}{environment['PATH']}"
    told = tmp_path / "told.txt"  # a file, since a service in the background keeps a pipe open
    with told.open("w") as out:
        command = ["bash", "-c", script_of(page)]
        run = subprocess.Popen(
            command, cwd=tmp_path, env=environment, stdout=out, stderr=subprocess.STDOUT, start_new_session=True
        )
    try:
        run.wait(timeout=180)
    finally:  # end what the page left running, such as a service in the background
        with suppress(ProcessLookupError):
            os.killpg(run.pid, signal.SIGKILL)
    assert run.returncode == 0, told.read_text()[-4000:]
