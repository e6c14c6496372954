"""The rulebook, one adviser for the whole run, and a short way to write down a situation."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from tacticapi.advice import Adviser
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import (
    Chosen,
    Moment,
    Observation,
    OwnErrors,
    PointsPlayed,
    Previous,
    Situation,
    Tries,
    Way,
    Wing,
)
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
SAID = (Way.COUNT, Way.COUNTS, Way.RATING, Way.AMOUNT, Way.SEEN)

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
    """A situation from the words of a request: situation(moment=..., observations=[{...}, ...], score={...})."""

    def write(**wire: Any) -> Situation:
        return read_situation(wire, rulebook)

    return write


def read_situation(wire: Mapping[str, Any], rulebook: Rulebook) -> Situation:
    """The situation that a well-formed request body means; a missing moment is a change of ends."""
    played, errors, previous = (wire.get(key) for key in ("points_played", "own_errors", "previous"))
    return Situation(
        moment=Moment(wire.get("moment", "change-of-ends")),
        context=read_context(wire.get("context") or {}),
        own=wire.get("own") or {},
        opponent=wire.get("opponent") or {},
        observations=tuple(
            read_observation(place, posted, rulebook) for place, posted in enumerate(wire.get("observations") or ())
        ),
        score=wire.get("score"),
        points_played=read_points(played) if played else None,
        own_errors=OwnErrors(**errors) if errors else None,
        tries=tuple(Tries(**tries) for tries in wire.get("tries") or ()),
        plan=read_plan(**wire["plan"]) if wire.get("plan") else None,
        limit=wire.get("limit"),
        minutes_left=wire.get("minutes_left"),
        previous=Previous(**previous) if previous else None,
    )


def read_plan(tactic: str, since: Any = None) -> Chosen:
    return Chosen(tactic, (since["set"], since["game"]) if isinstance(since, Mapping) else since)


def read_context(posted: Mapping[str, Any]) -> dict[str, Any]:
    """Wind and heat posted in full become plain keys."""
    context = dict(posted)
    if isinstance(wind := context.get("wind"), dict):
        context |= {"wind": wind.get("strength"), "wind_direction": wind.get("direction")}
    if isinstance(heat := context.get("heat"), dict):
        del context["heat"]
        context |= {f"heat_{name}": reading for name, reading in heat.items()}
    return {key: value for key, value in context.items() if value is not None}


def read_observation(place: int, posted: Mapping[str, Any], rulebook: Rulebook) -> Observation:
    said = dict(posted)
    kind = rulebook.kinds[said["what"]]
    way = next((way for way in SAID if way.value in said), Way.VALUE)
    if way is Way.VALUE and said.get("value") not in kind.options:
        way = Way.TEXT
    if "wing" in said:
        said["wing"] = Wing(said["wing"])
    return Observation(index=place, way=way, **said)


def read_points(played: Mapping[str, Mapping[str, int]]) -> PointsPlayed:
    serve, back = (played.get(side, {"won": 0, "of": 0}) for side in ("on_serve", "on_return"))
    return PointsPlayed(serve["won"], serve["of"], back["won"], back["of"])
