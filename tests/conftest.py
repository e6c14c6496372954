"""The rulebook, one adviser for the whole run, and a short way to write down a situation.

Our own rule files stay as they are, so each is read once a process.
"""

from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, settings

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.situations import read_situation
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.rulebook import entries, matcher
from tacticapi.rulebook.files import Document, our_rules
from tacticapi.rulebook.load import load
from tacticapi.seeds import demo_situation

# tests of the engine itself, for a Python on which it imports
OF_THE_ENGINE = (
    "unit/rulebook/test_engine.py",
    "unit/rulebook/test_matcher.py",
    "api/front/test_engine_failures.py",
    "served/test_lost_workers.py",
)
collect_ignore = [] if matcher.ENGINE_FITS else [*OF_THE_ENGINE]
Write = Callable[..., Situation]

settings.register_profile("repeatable", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("few", settings.get_profile("repeatable"), max_examples=15)  # for mutmut: a thousand runs
settings.load_profile("repeatable")


def _once_for(ours: Path, read: Callable[[Path], Document]) -> Callable[[Path], Document]:
    """Return a function that reads each of our own rule files only once."""
    once = cache(read)
    return lambda path: once(path) if path.is_relative_to(ours) else read(path)


entries.read_document = _once_for(our_rules(), entries.read_document)


@pytest.fixture(scope="session")
def rulebook() -> Rulebook:
    return load()


@pytest.fixture(scope="session")
def evidence(rulebook: Rulebook) -> EvidenceModel:
    return EvidenceModel(rulebook)


@pytest.fixture(scope="session")
def adviser(rulebook: Rulebook) -> Adviser:
    return Adviser(rulebook)


@pytest.fixture(scope="session")
def situation(rulebook: Rulebook) -> Write:
    """A situation from the members of a request: situation(moment=..., observations=[{...}, ...], score={...})."""

    return lambda **wire: read_situation({"moment": "change-of-ends", **wire}, rulebook)


@pytest.fixture(scope="session")
def app(adviser: Adviser) -> Flask:
    """The application without a database; what goes wrong in it reaches the test."""
    return create_app({"ADVISER": adviser, "TESTING": True})


@pytest.fixture
def client(app: Flask) -> Iterator[FlaskClient]:
    with app.test_client() as client:
        yield client


@pytest.fixture
def seen() -> list[dict[str, Any]]:
    """Return the observations of the demo match at its end."""
    observations: list[dict[str, Any]] = demo_situation("after-match")["observations"]
    return observations
