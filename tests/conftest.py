"""The rulebook, one adviser for the whole run, and a short way to write down a situation."""

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, settings

from tacticapi.advice import Adviser
from tacticapi.api.situations import read_situation
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.rulebook import matcher
from tacticapi.rulebook.load import load

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
