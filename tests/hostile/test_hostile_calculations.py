"""Bodies of the calculations that mean harm or nonsense: an answer or a problem with its place, never a failure."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from .bodies import refused

WIN, IMPORTANCE, MIX = ADDRESSES = [f"/v1/calculations/{name}" for name in ("win-chance", "importance", "serve-mix")]
FEW = settings(max_examples=50, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
CHANCES = {"own_serve": 0.6, "opponent_serve": 0.6}
TWO = {"wide": {"won": 1, "of": 2}, "T": {"won": 1, "of": 2}}

CHOICES = {"sets": (1, 3, 5), "games": (4, 6), "set": ("advantage", "tie-break-7"), "no_ad": (True, False)}
FORMATS = st.fixed_dictionaries({name: st.sampled_from(choices) for name, choices in CHOICES.items()})


@FEW
@given(own=st.floats(0, 1), theirs=st.floats(0, 1), fmt=FORMATS)
def test_any_two_chances_give_chances(app, own, theirs, fmt):
    body = {"point_chances": {"own_serve": own, "opponent_serve": theirs}, "format": fmt}
    told = app.test_client().post(WIN, json=body).json
    assert all(0.0 <= told[part][name] <= 1.0 for part in ("match", "set", "game") for name in told[part])
    table = app.test_client().post(IMPORTANCE, json=body).json
    assert all(-1e-9 <= item[part] <= 1.0 + 1e-9 for item in table["items"] for part in ("game", "set", "match"))


@pytest.mark.parametrize("address", [WIN, IMPORTANCE])
@pytest.mark.parametrize(
    ("body", "at"),
    [
        ({}, {""}),
        ({"point_chances": {"own_serve": 1.01, "opponent_serve": 0.6}}, {"/point_chances/own_serve"}),
        ({"point_chances": {"own_serve": 0.6, "opponent_serve": -1e-9}}, {"/point_chances/opponent_serve"}),
        ({"point_chances": {"own_serve": "0.6", "opponent_serve": 0.6}}, {"/point_chances/own_serve"}),
        ({"point_chances": {"own_serve": True, "opponent_serve": [0.6]}},
         {"/point_chances/own_serve", "/point_chances/opponent_serve"}),
        ({"point_chances": []}, {"/point_chances"}),
        ({"points_played": {"on_serve": {"won": 3, "of": 2}}}, {"/points_played/on_serve/won"}),
        ({"points_played": {"on_serve": {"won": 1, "of": 2**53}}}, {"/points_played/on_serve/of"}),
        ({"points_played": {"on_return": {"won": -1, "of": 2}}}, {"/points_played/on_return/won"}),
        ({"points_played": 5}, {"/points_played"}),
        ({"point_chances": CHANCES, "format": "best of 3"}, {"/format"}),
        ({"point_chances": CHANCES, "format": {"sets": [3], "games": {}}}, {"/format/sets", "/format/games"}),
        ({"point_chances": CHANCES, "score": [6, 4]}, {"/score"}),
        ({"point_chances": CHANCES, "score": {"games": [10**9, 0]}}, {"/score/games"}),
        ({"point_chances": CHANCES, "moment": ["set-break"]}, {"/moment"}),
        ({"point_chances": CHANCES, "context": []}, {"/context"}),
        ({"point_chances": CHANCES, "context": {"coaching": {}, "surface": "clay"}},
         {"/context/coaching", "/context/surface"}),
        ({"point_chances": CHANCES, "__class__": 1}, {"/__class__"}),
        ({"point_chances": None}, {""}),
        ({"point_chances": CHANCES, "points_played": {}}, {""}),
        ({"point_chances": CHANCES, "level_gap": "level"}, {"/level_gap"}),
        ({"point_chances": {"own_serve": 0.6}}, {"/point_chances/opponent_serve"}),
        ({"point_chances": CHANCES, "format": {"sets": 4}, "score": {"games": [3, 2]}}, {"/format/sets"}),
        ({"point_chances": CHANCES, "score": {"sets": [[6, 5]], "server": "own"}}, {"/score/sets/0"}),
        ({"point_chances": CHANCES, "score": {"games": [9, 0], "server": "own"}, "level_gap": "even"},
         {"/score/games", "/level_gap"}),
        ({"point_chances": CHANCES, "context": {"coaching": "maybe"}, "moment": "lunch"},
         {"/context/coaching", "/moment"}),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_where_it_stands(client, address, body, at):
    assert set(refused(client.post(address, json=body), 422)) == at


@pytest.mark.parametrize(
    ("body", "at"),
    [
        ({}, {"/courts"}),
        ({"courts": []}, {"/courts"}),
        ({"courts": {}}, {"/courts"}),
        ({"courts": {"deuce": None}}, {"/courts"}),
        ({"courts": {"deuce": []}}, {"/courts/deuce"}),
        ({"courts": {"left": {"spots": TWO}}}, {"/courts/left"}),
        ({"courts": {"deuce": {}}}, {"/courts/deuce/spots"}),
        ({"courts": {"deuce": {"spots": {**TWO, "T": {"won": 3, "of": 2}}}}}, {"/courts/deuce/spots/T/won"}),
        ({"courts": {"deuce": {"spots": {**TWO, "T": {"won": 1, "of": 10**12}}}}}, {"/courts/deuce/spots/T/of"}),
        ({"courts": {"deuce": {"spots": {**TWO, "wide": 5}}}}, {"/courts/deuce/spots/wide"}),
        ({"courts": {"deuce": {"spots": TWO, "leans": {"T": 1e9}}}}, {"/courts/deuce/leans/T"}),
        ({"courts": {"deuce": {"spots": TWO, "leans": [1, 2]}}}, {"/courts/deuce/leans"}),
        ({"courts": {"deuce": {"spots": TWO, "by_lean": {"T": {"T": {"won": 2, "of": 1}}}}}},
         {"/courts/deuce/by_lean/T/T/won"}),
        ({"courts": {"deuce": {"spots": TWO, "sequence": "wide T"}}}, {"/courts/deuce/sequence"}),
        ({"courts": {"deuce": {"spots": TWO, "sequence": ["T"] * 201}}}, {"/courts/deuce/sequence"}),
        ({"courts": {"deuce": {"spots": TWO, "sequence": [None, {}]}}},
         {"/courts/deuce/sequence/0", "/courts/deuce/sequence/1"}),
        ({"courts": {"deuce": {"spots": TWO, "sequence": ["T"], "scores": ["x" * 21]}}}, {"/courts/deuce/scores/0"}),
        ({"courts": {"deuce": {"spots": {"wide": TWO["wide"]}}}}, {"/courts/deuce/spots/T"}),
        ({"courts": {"deuce": {"spots": {**TWO, "middle": TWO["T"]}}}}, {"/courts/deuce/spots/middle"}),
        ({"courts": {"deuce": {"spots": TWO, "leans": {"wide": -1}}}}, {"/courts/deuce/leans/wide"}),
        ({"courts": {"deuce": {"spots": TWO, "sequence": ["wide", "middle"]}}}, {"/courts/deuce/sequence/1"}),
        ({"courts": {"deuce": {"spots": TWO, "sequence": ["T"], "scores": ["a", "b"]}}}, {"/courts/deuce/scores"}),
        ({"courts": {"deuce": {"spots": TWO, "scores": ["a"]}}}, {"/courts/deuce/scores"}),
        ({"courts": {"deuce": {"spots": TWO}}, "seed": -1}, {"/seed"}),
        ({"courts": {"deuce": {"spots": TWO}}, "seed": "7"}, {"/seed"}),
        ({"courts": {"deuce": {"spots": TWO}}, "seed": 1.5}, {"/seed"}),
        ({"courts": {"deuce": {"spots": TWO}}, "receiver_handedness": ["left"]}, {"/receiver_handedness"}),
    ],
)  # fmt: skip
def test_serves_that_cannot_be_are_refused_where_they_stand(client, body, at):
    assert set(refused(client.post(MIX, json=body), 422)) == at
