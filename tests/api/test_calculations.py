"""What all calculations share over HTTP, and the serve mix."""

from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import yaml
from flask import Flask
from flask.testing import FlaskClient

from tacticapi.advice.permission import CHECK, JUNIORS_CHECK, NO_COACHING, NO_DEVICE
from tacticapi.api.calculations.parts import AGE_BANDS, NO_PROMISE
from tacticapi.api.calculations.score import LEVELS
from tacticapi.api.calculations.serve_mix import HANDS
from tacticapi.api.document import EXAMPLES, Example, recorded_answer
from tacticapi.domain.rulebook import Rulebook
from tacticapi.games import MixModel

from .calculating import BODIES, MIX, SERVES, asked, faults

TESTS = Path(__file__).parents[1]
ROUNDED = 6e-7


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
