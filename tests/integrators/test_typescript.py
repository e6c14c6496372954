"""The client in TypeScript of docs/client.md, generated from the contract, compiles strictly and keeps a match."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

PROJECT = Path(__file__).parent / "typescript"
PAGE = Path(__file__).parents[2] / "docs" / "client.md"
MAX_SECONDS = 300


def npm(*arguments: str) -> str:
    program = shutil.which("npm")
    if program is None:
        pytest.fail("this test needs npm and Node.js (on Debian: nodejs, npm)")
    command = [program, *arguments]
    done = subprocess.run(command, cwd=PROJECT, capture_output=True, text=True, timeout=MAX_SECONDS, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_the_example_compiles_strictly_posts_a_warm_up_and_reads_advice(service):
    blocks = re.findall(r"```ts\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    (PROJECT / "build").mkdir(exist_ok=True)
    (PROJECT / "build" / "example.ts").write_text("\n".join(blocks), encoding="utf-8")
    npm("ci", "--no-audit", "--no-fund", "--prefer-offline")
    npm("run", "build")
    assert "addObservations: {" in (PROJECT / "build" / "contract.ts").read_text(encoding="utf-8")
    said = npm("run", "--silent", "example", "--", service)
    assert "because " in said
    assert "7 of 8" in said or "rated 1" in said
    assert "2 of 3" in said
    assert "\n/rating " in said
    assert {"Larch", "Sleet"} <= set(said.splitlines())
