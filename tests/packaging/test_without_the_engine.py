"""Where durable-rules does not import, the same advice comes from the evaluator, and nobody is warned."""

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from packaging.requirements import Requirement

from tacticapi.api import create_app
from tacticapi.rulebook import matcher

from ..cases import cases

CHECKOUT = Path(__file__).parents[2]
CHILD = """
import json, sys
from tests import without_engine
from tests.packaging.test_without_the_engine import answers
from tacticapi.api import create_app

client = create_app().test_client()
json.dump([client.get("/readyz").json, answers(client)], sys.stdout)
"""


def answers(client: FlaskClient) -> list[Any]:
    """What is advised in every fifth case of the rules; tests/unit holds evaluator and engine against each other."""
    told = [client.post("/v1/suggestions", json=case.suggested) for case in cases()[::5]]
    assert {one.status_code for one in told} == {200}
    return [{**one.get_json(), "advice_id": None} for one in told]


@pytest.fixture(scope="module")
def without() -> Any:
    """Readiness and advice of a process in which the engine cannot be imported."""
    environment = {**os.environ, "PYTHONPATH": str(CHECKOUT)}
    command = [sys.executable, "-c", CHILD]
    done = subprocess.run(command, cwd=CHECKOUT, env=environment, check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "no rule engine" not in done.stderr
    return json.loads(done.stdout)


def test_the_advice_is_the_same(without, adviser):
    assert without[1] == answers(create_app({"ADVISER": adviser}).test_client())


def test_the_evaluator_serves_without_a_warning(without):
    assert (without[0]["engine"], without[0]["warnings"]) == ("evaluator", [])


@pytest.mark.parametrize(("python", "needed"), [("3.11", True), ("3.12", True), ("3.13", False), ("3.14", False)])
def test_it_is_needed_where_it_imports_alone(python, needed):
    project = tomllib.loads((CHECKOUT / "pyproject.toml").read_text())["project"]
    assert python in Requirement(f"python{project['requires-python']}").specifier
    (engine,) = (one for one in map(Requirement, project["dependencies"]) if one.name == "durable-rules")
    assert engine.marker.evaluate({"python_version": python}) is needed
    blocked = sys.modules.get("durable_rules_engine", "not yet imported") is None
    if python == f"{sys.version_info.major}.{sys.version_info.minor}" and not blocked:
        assert matcher.ENGINE_FITS is needed
