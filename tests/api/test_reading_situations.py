"""What a posted situation becomes, and what is said where it cannot be."""

from typing import Any

import pytest

from tacticapi.api.situations import SituationError, SituationSchema, read_situation
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Chosen, OwnErrors, PointsPlayed, Previous, Tries, Way, Wing
from tacticapi.seeds import demo_situation


def faults(rulebook: Rulebook, **body: Any) -> dict[tuple[str | int, ...], str]:
    with pytest.raises(SituationError) as refused:
        read_situation({"moment": "set-break", **body}, rulebook)
    return {fault.path: fault.expected for fault in refused.value.faults}


def observed(rulebook: Rulebook, **entry: Any) -> dict[tuple[str | int, ...], str]:
    return faults(rulebook, observations=[entry])


def test_a_schema_that_only_describes_reads_nothing():
    with pytest.raises(RuntimeError, match=r"^a schema without a rulebook loads nothing$"):
        SituationSchema().load({"moment": "before-match", "own": {"volley": 3}})


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


def test_an_observation_keeps_its_way_and_its_qualifiers(rulebook):
    entry = {"what": "rally.against_high_ball", "wing": "backhand", "count": 2, "of": 5.0, "set": 1, "ref": "x"}
    (seen,) = read_situation({"moment": "set-break", "observations": [entry]}, rulebook).observations
    assert (seen.way, seen.count, seen.of, seen.wing, seen.set, seen.ref) == (Way.COUNT, 2, 5, Wing.BACKHAND, 1, "x")
    assert type(seen.of) is int


def test_a_text_is_posted_as_value(rulebook):
    entries = [
        {"what": "record.last_points", "value": "WWLl"},
        {"what": "conduct.change_of_play", "value": "stands closer"},
    ]
    for seen in read_situation({"moment": "set-break", "observations": entries}, rulebook).observations:
        assert seen.way is Way.TEXT
        assert seen.value
    assert ("observations", 0, "value") in observed(rulebook, what="record.last_points", value="WWLQ")


def test_wind_and_heat_may_be_a_word_or_the_whole_of_it(rulebook):
    word = read_situation({"moment": "set-break", "context": {"wind": "strong", "heat": "hot"}}, rulebook)
    assert word.context == {"wind": "strong", "heat": "hot"}
    wind = {"strength": "strong", "direction": {"north": "with", "south": None}}
    full = {"wind": wind, "heat": {"air_c": 33, "wbgt": 28.5, "humidity": None}}
    read = read_situation({"moment": "set-break", "context": full}, rulebook)
    assert read.context == {"wind": "strong", "wind_direction": {"north": "with"}, "heat_air_c": 33, "heat_wbgt": 28.5}


def test_tries_of_one_tactic_add_up(rulebook):
    tries = [{"tactic": "work-weaker-wing", "tried": 4, "won": 1}, {"tactic": "work-weaker-wing", "tried": 3, "won": 3}]
    read = read_situation({"moment": "set-break", "tries": tries}, rulebook)
    assert read.tries == (Tries("work-weaker-wing", 7, 4),)


def test_the_advice_before_is_kept(rulebook):
    before = {"advice_id": "a", "first": "work-weaker-wing", "beliefs": {"weak_low_ball/forehand": 0.7}}
    read = read_situation({"moment": "set-break", "previous": before}, rulebook)
    assert read.previous == Previous("a", "work-weaker-wing", {"weak_low_ball/forehand": 0.7})


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


@pytest.mark.parametrize(
    ("entry", "place"),
    [
        ({"what": "rally.forehand_errors", "count": True, "of": 3}, "count"),
        ({"what": "rally.forehand_errors", "count": 2.5, "of": 3}, "count"),
        ({"what": "rally.forehand_errors", "rating": 2}, "rating"),
        ({"what": "warmup.low_forehand", "rating": 5}, "rating"),
        ({"what": "warmup.low_forehand", "rating": 1, "wing": "forehand"}, "wing"),
        ({"what": "warmup.forehand_ball", "value": "kick"}, "value"),
        ({"what": "serve.ad_court_spots", "counts": {"centre": 2}}, "counts/centre"),
        ({"what": "tempo.time_between_points", "amount": 1e9}, "amount"),
        ({"what": "serve.late_serve_drop", "seen": 1}, "seen"),
        ({"what": "warmup.low_forehand", "rating": 1, "end": "east"}, "end"),
        ({"what": "warmup.low_forehand", "rating": 1, "set": 0}, "set"),
        ({"what": "warmup.low_forehand", "rating": 1, "note": "x" * 501}, "note"),
        ({"what": "warmup.low_forehand", "rating": 1, "ref": ""}, "ref"),
        ({"what": "warmup.low_forehand", "rating": 1, "shade": "blue"}, "shade"),
        ({"what": "context.surface", "value": "clay"}, "what"),
        ({"count": 1, "of": 2}, "what"),
        ({"what": "serve.tell", "value": ""}, "value"),
    ],
)
def test_an_observation_is_refused_where_it_is_wrong(rulebook, entry, place):
    assert ("observations", 0, *place.split("/")) in observed(rulebook, **entry)


def test_an_observation_without_a_way_of_saying_it_is_refused_as_a_whole(rulebook):
    assert observed(rulebook, what="warmup.footwork") == {("observations", 0): "one way of saying it: rating"}


def test_a_score_is_judged_by_its_format(rulebook):
    short = {"context": {"format": {"games": 4}}, "score": {"sets": [[4, 2]]}}
    assert read_situation({"moment": "set-break", **short}, rulebook).score == {"sets": [[4, 2]]}
    assert ("score", "sets", 0) in faults(rulebook, score={"sets": [[4, 2]]})


def test_as_many_observations_as_a_long_match_gives_are_taken(rulebook):
    entry = {"what": "warmup.low_forehand", "rating": 1}
    assert len(read_situation({"moment": "set-break", "observations": [entry] * 500}, rulebook).observations) == 500
    assert faults(rulebook, observations=[entry] * 10_001) == {("observations",): "a list of at most 1,000 items"}
