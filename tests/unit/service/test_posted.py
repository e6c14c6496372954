"""Kept entries mean what the same request body means."""

from typing import Any

import pytest

from tacticapi.api.situations.read import read_situation
from tacticapi.domain.rulebook import Rulebook
from tacticapi.seeds import demo_situation
from tacticapi.service.posted import merged_tries, observation, observation_faults, profile


@pytest.mark.parametrize("moment", ["after-warm-up", "change-of-ends", "set-break", "after-match"])
def test_kept_facts_and_observations_are_read_as_a_request_is(moment: str, rulebook: Rulebook) -> None:
    body = demo_situation(moment)
    asked = read_situation(body, rulebook)
    posted = body["observations"]
    assert [observation_faults(one, rulebook) for one in posted] == [[]] * len(posted)
    read = tuple(observation(n, one, rulebook.kinds[one["what"]]) for n, one in enumerate(posted))
    assert read == asked.observations
    assert profile(body["own"]) == asked.own
    assert profile(body["opponent"]) == asked.opponent
    assert profile(body["context"]) == asked.context
    assert merged_tries(body.get("tries") or (), rulebook) == asked.tries


@pytest.mark.parametrize(
    "body",
    [
        {"what": "record.last_points", "value": "WLWW", "note": None},
        {"what": "serve.ad_court_spots", "counts": {"wide": 2.0, "T": 1}, "court": None},
        {"what": "return.shading", "value": "forehand", "by": "coach", "end": "north"},
        {"what": "physical.heavy_legs", "seen": False},
    ],
)
def test_every_way_of_saying_is_read_as_a_request_is(body: dict[str, Any], rulebook: Rulebook) -> None:
    asked = read_situation({"moment": "change-of-ends", "observations": [body]}, rulebook)
    assert (observation(0, body, rulebook.kinds[body["what"]]),) == asked.observations


@pytest.mark.parametrize(
    "body",
    [
        7,
        {},
        {"what": 7},
        {"what": "own.handedness", "value": "left"},
        {"what": "serve.followed_to_net", "count": 7, "of": 6},
        {"what": "warmup.low_forehand", "rating": 5},
        {"what": "record.last_points"},
    ],
)
def test_a_fault_is_told(body: Any, rulebook: Rulebook) -> None:
    assert observation_faults(body, rulebook)
