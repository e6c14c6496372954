"""A client in Python, generated from the contract by a public generator, is typed and keeps a match."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

PROJECT = Path(__file__).parent / "python"
CONTRACT = Path(__file__).parents[2] / "openapi" / "openapi.yaml"
MAX_SECONDS = 300
UNSUPPORTED = ("WARNING parsing POST /v1/matches/{match_id}/observations within observations.",)  # JSON Lines


def run(*arguments: str, **environment: str) -> str:
    command, env = [sys.executable, *arguments], {**os.environ, **environment}
    done = subprocess.run(command, env=env, capture_output=True, text=True, timeout=MAX_SECONDS, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def generated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder in which the generated package stands."""
    folder = tmp_path_factory.mktemp("python") / "client"
    told = run(
        "-m", "openapi_python_client", "generate", "--path", str(CONTRACT), "--config", str(PROJECT / "generator.yaml"),
        "--output-path", str(folder),
    )  # fmt: skip
    warnings = [line for line in told.splitlines() if line.startswith("WARNING")]
    assert [line for line in warnings if line not in UNSUPPORTED] == []
    return folder


def test_each_word_list_is_one_type(generated):
    models = {file.stem for file in (generated / "court_client" / "models").glob("*.py")}
    assert {"moment", "side", "wing", "surface", "observation_kind"} <= models
    assert not [name for name in models if "_type_" in name and not name.endswith("_type_0")]


def test_the_example_keeps_a_match_from_start_to_debrief(generated, service):
    said = run(str(PROJECT / "example.py"), service, PYTHONPATH=str(generated))
    assert "because " in said
