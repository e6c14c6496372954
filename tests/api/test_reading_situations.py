"""What a posted situation becomes, and what is said where it cannot be."""

from typing import Any

import pytest

from tacticapi.api.situations import SituationError, SituationSchema, read_situation
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Chosen, OwnErrors, PointsPlayed, Tries
from tacticapi.seeds import demo_situation


def faults(rulebook: Rulebook, **body: Any) -> dict[tuple[str | int, ...], str]:
    with pytest.raises(SituationError) as refused:
        read_situation({"moment": "set-break", **body}, rulebook)
    return {fault.path: fault.expected for fault in refused.value.faults}


def observed(rulebook: Rulebook, **entry: Any) -> dict[tuple[str | int, ...], str]:
    return faults(rulebook, observations=[entry])


def test_an_unknown_id_is_answered_with_the_one_that_may_be_meant(rulebook):
    place = ("observations", 0, "what")
    near = observed(rulebook, what="warmup.high_backhands", rating=1)
    assert near[place] == "an id from the vocabulary; did you mean warmup.high_backhand?"
    for typo in ("raly.backhand_errors", "rally.backhand_eror"):
        assert observed(rulebook, what=typo, rating=1)[place].endswith("; did you mean rally.backhand_errors?")
    far = observed(rulebook, what="weather.rain", rating=1)
    assert far[place] == "an id from the vocabulary, see /v1/vocabulary"


def test_an_unknown_name_in_a_profile_is_answered_with_the_one_that_may_be_meant(rulebook):
    found = faults(rulebook, own={"handednes": "left"}, context={"surfce": "clay", "formt": {}, "zzz": 1})
    assert found["own", "handednes"].endswith("; did you mean handedness?")
    assert found["context", "surfce"].endswith("; did you mean surface?")
    assert found["context", "formt"].endswith("; did you mean format?")
    assert "mean" not in found["context", "zzz"]
    many = faults(rulebook, own={f"handednes{n}": "left" for n in range(200)})
    assert not [said for said in many.values() if "mean" in said]


def test_null_means_unknown_wherever_something_is_optional(rulebook):
    names = [name for name in SituationSchema().fields if name != "moment"]
    nothing = read_situation({"moment": "set-break"}, rulebook)
    assert read_situation({"moment": "set-break", **dict.fromkeys(names)}, rulebook) == nothing
    inside = {
        "context": {"surface": None, "format": None, "wind": None, "heat": None},
        "own": {"volley": None},
        "points_played": {"on_serve": None},
        "previous": {"first": None},
        "score": {"sets": None, "games": None, "points": None, "server": None},
    }
    read = read_situation({"moment": "set-break", **inside}, rulebook)
    assert (read.context, read.own) == ({}, {})
    assert read.points_played == PointsPlayed()


def test_a_ready_made_situation_is_read_whole(rulebook):
    situation = read_situation(demo_situation("set-break"), rulebook)
    assert situation.points_played == PointsPlayed(22, 34, 13, 33)
    assert situation.own_errors == OwnErrors(11, 32)
    assert Tries("lob-early-and-often-enough", 3, 2, 1, 10) in situation.tries
    assert situation.plan == Chosen("make-serve-and-volleyer-volley-low", (1, 2))
    assert situation.score == {"sets": [[6, 4]], "games": [0, 0], "points": ["0", "0"], "server": "own"}
    assert situation.context["format"] == {"sets": 3, "final_set": "match-tie-break-10"}


def test_every_fault_is_told_at_once(rulebook):
    found = faults(
        rulebook,
        limit="3",
        own={"volley": 9, "shoe_size": 43},
        context={"surface": "ice", "wind": {"strength": "gale", "direction": {"up": "with"}}},
        observations=[7, {"what": "rally.forehand_errors", "count": 5}, {"what": "rally.nothing"}],
        tries=[{"tactic": "no-such", "tried": 1, "won": 1}],
        score={"games": [9, 0]},
        own_errors={"unforced": 5, "of": 3},
        colour="red",
    )
    assert {"/".join(map(str, path)) for path in found} == {
        *("limit", "own/volley", "own/shoe_size", "context/surface", "context/wind/strength", "colour"),
        *("context/wind/direction/up", "observations/0", "observations/1/of", "observations/2/what"),
        *("tries/0/tactic", "score/games", "own_errors/unforced"),
    }
