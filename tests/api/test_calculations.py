"""Win chance, importance and serve mix over HTTP: published figures, permissions, faults with their place."""

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import yaml
from flask import Flask
from flask.testing import FlaskClient
from marshmallow import Schema

from tacticapi.advice.permission import CHECK, JUNIORS_CHECK, NO_COACHING, NO_DEVICE
from tacticapi.api.calculations.examples import EXAMPLES, Example, recorded_answer
from tacticapi.api.calculations.occasion import AGE_BANDS, NO_PROMISE
from tacticapi.api.calculations.points import LEVELS
from tacticapi.api.calculations.schemas import ImportanceTableSchema, ServeMixSchema, WinChanceSchema
from tacticapi.api.calculations.serves import HANDS
from tacticapi.domain.rulebook import Rulebook
from tacticapi.games import MixModel
from tacticapi.scoring import Format, State, expected, expected_importance, percentiles, quantiles

TESTS = Path(__file__).parents[1]
TABLES: dict[str, Any] = json.loads((TESTS / "published" / "data" / "score_tables.json").read_text())
WIN, IMPORTANCE, MIX = (f"/v1/calculations/{name}" for name in ("win-chance", "importance", "serve-mix"))
SHAPES: dict[str, Schema] = {WIN: WinChanceSchema(), IMPORTANCE: ImportanceTableSchema(), MIX: ServeMixSchema()}
ROUNDED = 6e-7
CHANCES = {"own_serve": 0.65, "opponent_serve": 0.60}
SERVES = {"spots": {"wide": {"won": 8, "of": 11}, "body": {"won": 3, "of": 7}, "T": {"won": 6, "of": 10}}}
BODIES: dict[str, dict[str, Any]] = {
    WIN: {"point_chances": CHANCES},
    IMPORTANCE: {"point_chances": CHANCES},
    MIX: {"courts": {"deuce": SERVES}, "seed": 1},
}
PLAYED = {"on_serve": {"won": 22, "of": 35}, "on_return": {"won": 13, "of": 33}}


def asked(client: FlaskClient, address: str, **changes: Any) -> dict[str, Any]:
    response = client.post(address, json={**BODIES[address], **changes})
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = json.loads(response.data)
    assert SHAPES[address].validate(answer) == {}
    return answer


def faults(client: FlaskClient, address: str, body: Any) -> dict[str, str]:
    response = client.post(address, json=body)
    assert response.status_code == 422, response.text
    return {error["pointer"]: error["expected"] for error in response.json["errors"]}  # type: ignore[index]


def test_the_best_of_three_has_its_published_chance(client: FlaskClient) -> None:
    """0.736502 for 0.65 against 0.60 (tests/published/data/score_tables.json, recomputed in exact fractions)."""
    match = asked(client, WIN)["match"]
    assert match["chance"] == pytest.approx(0.736502, abs=ROUNDED)
    assert match["low"] == match["high"] == match["chance"]


@pytest.mark.parametrize("row", TABLES["set_match"], ids=lambda row: f"{row['pa']}-{row['pb']}")
def test_every_format_has_its_published_chance(client: FlaskClient, row: dict[str, Any]) -> None:
    """score_tables.json, recomputed in exact fractions."""
    chances = {"own_serve": float(row["pa"]), "opponent_serve": float(row["pb"])}
    formats = {"bo3_mtb10": {"final_set": "match-tie-break-10"}, "bo5_tb7": {"sets": 5}, "bo3_tb7": None}
    for name, fmt in formats.items():
        answer = asked(client, WIN, point_chances=chances, format=fmt, score={"server": "own"})
        assert answer["match"]["chance"] == pytest.approx(row[name], abs=ROUNDED)
        assert answer["game"]["chance"] == pytest.approx(row["hold_A"], abs=ROUNDED)


@pytest.mark.parametrize("row", TABLES["nested_importance"], ids=lambda row: f"{row['A_serving_games']} {row['score']}")
def test_the_importance_of_a_point_is_the_published_one(client: FlaskClient, row: dict[str, Any]) -> None:
    """score_tables.json: product rule (Morris 1977, from memory; recomputed)."""
    games = [int(part) for part in row["A_serving_games"].split("-")]
    own, opponent = (above_below(row[name]) for name in ("pa", "pb"))
    chances = {"own_serve": own, "opponent_serve": opponent}
    score = {"games": games, "points": row["score"].split("-"), "server": "own"}
    told = asked(client, WIN, point_chances=chances, score=score)["importance"]
    table = asked(client, IMPORTANCE, point_chances=chances, score=score)["items"]
    (listed,) = [item for item in table if item["score"] == row["score"]]
    for found in (told, listed):
        assert found["game"] == pytest.approx(row["I_point_in_game"], abs=ROUNDED)
        assert found["set"] == pytest.approx(row["I_point_in_set"], abs=ROUNDED)
        assert found["match"] == pytest.approx(row["I_point_in_match_set1"], abs=ROUNDED)


def above_below(text: str) -> float:
    above, _, below = text.partition("/")
    return float(above) / float(below or 1)


def test_the_next_point_moves_the_chance_by_its_importance(client: FlaskClient) -> None:
    answer = asked(client, WIN, score={"games": [3, 4], "points": ["30", "40"], "server": "own"})
    for part in ("match", "set", "game"):
        step = answer["if_won"][part] - answer["if_lost"][part]
        assert step == pytest.approx(answer["importance"][part], abs=1e-12)
        average = answer["if_lost"][part] + 0.65 * step
        assert answer[part]["chance"] == pytest.approx(average, abs=1e-12)


@pytest.mark.parametrize(
    ("score", "words"),
    [
        (None, "an open point"),
        ({"games": [3, 4], "points": ["30", "40"], "server": "own"}, "break point against you"),
        ({"games": [3, 4], "points": ["30", "40"], "server": "own"}, "you serve to the ad court"),
        ({"games": [3, 4], "points": ["30", "40"], "server": "own"}, "ends change after the next game"),
        ({"games": [3, 4], "points": ["0", "0"], "server": "own"}, "ends change now"),
        ({"games": [2, 2], "points": ["15", "0"], "server": "own"}, "ends change after this game"),
        ({"games": [6, 6], "points": ["3", "2"], "server": "own"}, "ends change in 1 point"),
        ({"sets": [[6, 3], [5, 7]], "games": [6, 6], "points": ["3", "2"]}, "ends change in 1 point"),
        ({"sets": [[6, 3], [7, 5]]}, "the match is over: you won"),
    ],
)
def test_the_score_is_told_in_one_line(client: FlaskClient, score: Any, words: str) -> None:
    assert words in asked(client, WIN, score=score)["score"]


def test_the_score_is_told_as_facts(client: FlaskClient) -> None:
    score = {"sets": [[3, 6]], "games": [5, 6], "points": ["15", "40"], "server": "own"}
    point = asked(client, WIN, score=score)["next_point"]
    assert (point["server"], point["courts"], point["tie_break"]) == ("own", ["deuce"], False)
    theirs = ["opponent"]
    assert [point[f"{name}_point"] for name in ("game", "break", "set", "match")] == [theirs] * 4
    assert (point["ends_change_now"], point["ends_change_in_points"]) == (False, None)


def test_points_played_give_means_and_percentiles_over_what_they_leave_open(client: FlaskClient) -> None:
    answer = asked(client, WIN, point_chances=None, points_played=PLAYED, level_gap="stronger", score={"server": "own"})
    serve, ret = (20 * 0.54 + 22, 20 * 0.46 + 13), (20 * 0.38 + 13, 20 * 0.62 + 20)
    start = State(Format(), server="own")
    mean = expected(Format(), start, serve, ret)
    low, high = percentiles(Format(), start, serve, ret)
    for part in ("match", "set", "game"):
        found = [getattr(each, part).now for each in (mean, low, high)]
        assert list(answer[part].values()) == pytest.approx(found, abs=1e-12)
        assert answer[part]["low"] < answer[part]["chance"] < answer[part]["high"]
    assert [low.match.now, high.match.now] == pytest.approx(quantiles(Format(), start, serve, ret).tolist())
    assert any("model default by level, worth 20 points" in line for line in answer["notice"])


def test_more_points_played_narrow_the_interval(client: FlaskClient) -> None:
    prior = asked(client, WIN, point_chances=None, points_played={})
    many = {"on_serve": {"won": 580, "of": 1000}, "on_return": {"won": 420, "of": 1000}}
    played = asked(client, WIN, point_chances=None, points_played=many)
    for part in ("match", "set", "game"):
        assert played[part]["high"] - played[part]["low"] < (prior[part]["high"] - prior[part]["low"]) / 2


def test_a_decided_match_leaves_nothing_open(client: FlaskClient) -> None:
    over = {"sets": [[6, 4], [6, 4]]}
    for source in ({"point_chances": CHANCES}, {"point_chances": None, "points_played": {}}):
        answer = asked(client, WIN, score=over, **source)
        assert answer["match"] == {"chance": 1.0, "low": 1.0, "high": 1.0}
        assert set(answer["importance"].values()) == {0.0}
        assert asked(client, IMPORTANCE, score=over, **source)["items"] == []


def test_a_game_lists_every_score_once_and_a_tie_break_its_own(client: FlaskClient) -> None:
    game = asked(client, IMPORTANCE)
    assert (game["server"], len(game["items"])) == ("own", 18)
    no_ad = asked(client, IMPORTANCE, format={"no_ad": True})
    assert [item["score"] for item in no_ad["items"]][-1] == "40-40"
    tie_break = asked(client, IMPORTANCE, score={"games": [6, 6], "points": ["1", "0"], "server": "opponent"})
    assert (tie_break["server"], tie_break["tie_break"], len(tie_break["items"])) == ("own", True, 49)
    assert len({item["score"] for item in tie_break["items"]}) == 49


def test_the_table_of_points_played_is_the_mean_of_exact_ones(client: FlaskClient) -> None:
    table = asked(client, IMPORTANCE, point_chances=None, points_played=PLAYED)["items"]
    serve, ret = (20 * 0.58 + 22, 20 * 0.42 + 13), (20 * 0.42 + 13, 20 * 0.58 + 20)
    means = expected_importance(Format(), State(Format(), server="own"), serve, ret, 60)
    for item in table:
        mean = means[item["score"]]
        assert [item["game"], item["set"], item["match"]] == pytest.approx([mean.game, mean.set, mean.match], abs=1e-5)


@pytest.mark.parametrize("address", [WIN, IMPORTANCE])
@pytest.mark.parametrize(
    ("change", "places"),
    [
        ({"point_chances": None}, {""}),
        ({"points_played": {}}, {""}),
        ({"level_gap": "level"}, {"/level_gap"}),
        ({"point_chances": {"own_serve": 0.6}}, {"/point_chances/opponent_serve"}),
        ({"format": {"sets": 4}}, {"/format/sets"}),
        ({"score": {"sets": [[6, 5]], "server": "own"}}, {"/score/sets/0"}),
        ({"score": {"games": [9, 0], "server": "own"}, "level_gap": "even"}, {"/score/games", "/level_gap"}),
        ({"context": {"coaching": "maybe"}, "moment": "lunch"}, {"/context/coaching", "/moment"}),
    ],
)
def test_what_cannot_be_is_refused_where_it_stands(
    client: FlaskClient, address: str, change: dict[str, Any], places: set[str]
) -> None:
    assert set(faults(client, address, {**BODIES[address], **change})) == places


def test_an_impossible_score_is_refused_in_the_words_of_a_situation(client: FlaskClient) -> None:
    score = {"sets": [[7, 2]], "points": ["50", "0"], "server": "umpire"}
    expected_here = faults(client, WIN, {**BODIES[WIN], "score": score})
    assert expected_here == faults(client, "/v1/suggestions", {"moment": "set-break", "score": score})


def test_a_game_without_its_server_is_no_question(client: FlaskClient) -> None:
    for score in ({}, {"games": [3, 2]}, {"games": [6, 6], "server": None}):
        body = {**BODIES[IMPORTANCE], "score": score, "level_gap": "level"}
        assert set(faults(client, IMPORTANCE, body)) == {"/score/server", "/level_gap"}


def test_each_court_gets_its_mix_order_and_verdict(client: FlaskClient) -> None:
    sequence = ["wide", "T"] * 7
    tags = ["game point" if place % 5 == 0 else None for place in range(14)]
    deuce = {**SERVES, "leans": {"wide": 7, "T": 2.5}, "sequence": sequence, "scores": tags}
    ad = {"spots": {"wide": {"won": 0, "of": 0}, "T": {"won": 0, "of": 0}}}
    courts = asked(client, MIX, courts={"deuce": deuce, "ad": ad}, receiver_handedness="left")["courts"]
    for court in courts.values():
        assert Counter(court["order"]) == Counter(court["tenths"])
        assert sum(court["tenths"].values()) == 10
        assert sum(spot["share"] for spot in court["spots"]) == pytest.approx(1.0)
        assert all(spot["low"] <= spot["share"] <= spot["high"] for spot in court["spots"])
    assert courts["deuce"]["pattern"]["verdict"] == "switches-too-often"
    assert [at["score"] for at in courts["deuce"]["by_score"]] == ["game point"]
    assert {spot["spot"]: spot["wing"] for spot in courts["deuce"]["spots"]} == {
        "wide": "backhand",
        "body": None,
        "T": "forehand",
    }
    assert list(courts["ad"]["tenths"]) == ["wide", "T"]
    assert (courts["ad"]["pattern"], courts["ad"]["past_gives"]) == (None, None)
    assert courts["ad"]["notes"][0] == "No serves counted: the mix rests on model defaults alone."


def test_an_opponents_serves_are_judged_in_words_about_them(client: FlaskClient) -> None:
    deuce = {**SERVES, "sequence": ["wide", "T"] * 7}
    own, theirs = (asked(client, MIX, courts={"deuce": deuce}, server=server) for server in ("own", "opponent"))
    (ours,), (their_note,) = (
        [note for note in answer["courts"]["deuce"]["notes"] if "too often" in note] for answer in (own, theirs)
    )
    assert "you change spots" in ours
    assert "your opponent changes spots" in their_note
    assert theirs["courts"]["deuce"]["pattern"] == own["courts"]["deuce"]["pattern"]


def test_serves_by_leaning_count_beside_the_others(client: FlaskClient) -> None:
    by_lean = {"wide": {"wide": {"won": 1, "of": 9}, "T": {"won": 8, "of": 9}}}
    plain = asked(client, MIX)["courts"]["deuce"]
    noted = asked(client, MIX, courts={"deuce": {**SERVES, "by_lean": by_lean}})["courts"]["deuce"]
    assert "46 serves counted" in noted["notes"][0]
    assert noted["value"] != plain["value"]


def test_a_wing_is_named_only_where_the_hand_has_one(client: FlaskClient) -> None:
    for hand in (None, "both"):
        court = asked(client, MIX, receiver_handedness=hand)["courts"]["deuce"]
        assert {spot["wing"] for spot in court["spots"]} == {None}


def test_the_seed_fixes_the_order_and_nothing_else(client: FlaskClient) -> None:
    same = [client.post(MIX, json=BODIES[MIX]).data for _ in range(2)]
    assert same[0] == same[1]
    courts = [asked(client, MIX, seed=seed)["courts"]["deuce"] for seed in range(6)]
    assert len({tuple(court["order"]) for court in courts}) > 1
    assert all({**court, "order": None} == {**courts[0], "order": None} for court in courts)
    unseeded = {tuple(asked(client, MIX, seed=None)["courts"]["deuce"]["order"]) for _ in range(8)}
    assert len(unseeded) > 1


@pytest.mark.parametrize(
    ("court", "places"),
    [
        ({"spots": {"wide": {"won": 1, "of": 2}}}, {"/spots/T"}),
        ({"spots": {**SERVES["spots"], "middle": {"won": 1, "of": 2}}}, {"/spots/middle"}),
        ({**SERVES, "leans": {"wide": -1}}, {"/leans/wide"}),
        ({**SERVES, "sequence": ["wide", "middle"]}, {"/sequence/1"}),
        ({**SERVES, "sequence": ["wide"] * 201}, {"/sequence"}),
        ({**SERVES, "sequence": ["wide"], "scores": ["a", "b"]}, {"/scores"}),
        ({**SERVES, "scores": ["a"]}, {"/scores"}),
    ],
)
def test_a_court_is_refused_where_it_is_wrong(client: FlaskClient, court: Any, places: set[str]) -> None:
    assert set(faults(client, MIX, {"courts": {"ad": court}})) == {f"/courts/ad{place}" for place in places}


def test_a_spot_that_is_not_mixed_is_named_nowhere(client: FlaskClient) -> None:
    two = {"wide": {"won": 1, "of": 2}, "T": {"won": 1, "of": 2}}
    cell = {"won": 0, "of": 1}
    court = {"spots": two, "leans": {"body": 1}, "by_lean": {"wide": {"body": cell}, "body": {}}, "sequence": ["body"]}
    found = faults(client, MIX, {"courts": {"deuce": court}})
    assert set(found) == {
        f"/courts/deuce/{at}" for at in ("leans/body", "by_lean/wide/body", "by_lean/body", "sequence/0")
    }
    assert set(found.values()) == {"one of wide, T, the names in `spots`"}


@pytest.mark.parametrize("address", BODIES)
@pytest.mark.parametrize("moment", ["after-warm-up", "between-points", "change-of-ends", "set-break"])
@pytest.mark.parametrize(
    ("context", "why"), [({"coaching": "not-permitted"}, NO_COACHING), ({"device": "nobody"}, NO_DEVICE)]
)
def test_nothing_is_calculated_where_the_event_permits_nothing(
    client: FlaskClient, address: str, moment: str, context: dict[str, str], why: str
) -> None:
    answer = asked(client, address, moment=moment, context=context)
    assert (answer.pop("safety"), answer.pop("notice")) == ([], [why])
    assert set(answer.values()) == {None}
    assert set(answer) == set(asked(client, address)) - {"safety", "notice"}


@pytest.mark.parametrize("address", BODIES)
def test_notices_say_what_is_not_known_about_the_event(client: FlaskClient, address: str) -> None:
    known = {"coaching": "permitted", "device": "coach"}
    assert asked(client, address)["notice"][0] == CHECK
    assert asked(client, address, moment="set-break")["notice"][0] == CHECK
    assert asked(client, address, context={"age_band": "U14"})["notice"][:2] == [CHECK, JUNIORS_CHECK]
    for open_to_it in ({"moment": "set-break", "context": known}, {"moment": "before-match"}):
        notice = asked(client, address, **open_to_it)["notice"]
        assert CHECK not in notice
        assert notice[-1] == NO_PROMISE
    covered = {"coaching": "set-break", "device": "player"}
    assert asked(client, address, moment="between-points", context=covered)["notice"] == [NO_COACHING]
    assert asked(client, address, moment="set-break", context=covered)["notice"][-1] == NO_PROMISE


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: f"{example.calculation} {example.name}")
def test_a_recorded_example_is_what_the_service_answers(app: Flask, rulebook: Rulebook, example: Example) -> None:
    published = yaml.load((TESTS.parent / "openapi" / "openapi.yaml").read_text(), yaml.CSafeLoader)
    operation = published["paths"][example.path]["post"]
    posted = operation["requestBody"]["content"]["application/json"]["examples"][example.name]["value"]
    recorded = operation["responses"]["200"]["content"]["application/json"]["examples"][example.name]["value"]
    assert recorded == recorded_answer(example, rulebook.defaults)
    answer = app.test_client().post(example.path, json=posted).json
    assert numbers(answer) == pytest.approx(numbers(recorded), abs=ROUNDED)
    assert "not for betting" in " ".join(operation["description"].lower().split())


def numbers(node: Any) -> list[float]:
    if isinstance(node, (dict, list)):
        return [number for below in (node.values() if isinstance(node, dict) else node) for number in numbers(below)]
    return [node] if isinstance(node, float) else []


def test_closed_lists_are_those_of_the_rulebook(rulebook: Rulebook) -> None:
    assert tuple(rulebook.kinds["context.level_gap"].options) == LEVELS
    assert tuple(rulebook.kinds["context.age_band"].options) == AGE_BANDS
    assert tuple(rulebook.kinds["opponent.handedness"].options) == HANDS
    assert MixModel(**rulebook.defaults["serve_mix"]).least_share == 0.1
