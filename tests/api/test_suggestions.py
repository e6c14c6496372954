"""The advice as it goes out: its shape, its order, its figures."""

import json
import re
import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient
from marshmallow import RAISE

from tacticapi.api.advice import EXPLANATIONS, OF_EXPLANATIONS, PARTS, AdviceSchema
from tacticapi.api.suggestions import ExplanationSchema
from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_situation

ORDER = (
    *("advice_id", "moment", "rulebook", "safety", "plan", "score", "suggestions", "look_for", "held_back", "unused"),
    *("beliefs", "profile", "notice", "changed"),
)
SUMMED = re.compile(r"tried in (\S+) of 100 points(?:, less a cost of ([^\s:]+))?: (\S+) points in 100")
MOMENTS = [moment.value for moment in Moment]
EVERY_PART = ",".join(PARTS)


def advised(client: FlaskClient, body: dict[str, Any], include: str | None = EVERY_PART) -> dict[str, Any]:
    response = client.post("/v1/suggestions", json=body, query_string={"include": include} if include else {})
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = json.loads(response.data)
    return answer


@pytest.mark.parametrize("moment", MOMENTS)
def test_an_answer_has_the_published_shape(client, moment):
    answer = advised(client, demo_situation(moment))
    assert list(answer) == [name for name in ORDER if name in answer]
    assert set(ORDER) - answer.keys() <= {"score"}
    assert AdviceSchema(unknown=RAISE).validate(answer) == {}
    assert answer["suggestions"]


@pytest.mark.parametrize("moment", MOMENTS)
def test_only_the_parts_that_are_asked_for_are_told(client, moment):
    whole, short = (advised(client, demo_situation(moment), include) for include in (EVERY_PART, None))
    assert whole.keys() - short.keys() == set(PARTS) - {EXPLANATIONS}
    for told, line in zip(short["suggestions"], whole["suggestions"], strict=True):
        assert told == {name: value for name, value in line.items() if name not in OF_EXPLANATIONS}
    for part in set(PARTS) - {EXPLANATIONS}:
        assert advised(client, demo_situation(moment), part)[part] == whole[part]


def test_a_change_of_ends_is_told_in_six_kilobytes_with_what_somebody_must_read(client):
    assert len(client.post("/v1/suggestions", json=demo_situation("change-of-ends")).data) <= 6_000
    body = {"moment": "change-of-ends", "own": {"favourite_pattern": "somehow not myself today"}}
    (unread,) = advised(client, body, None)["unused"]
    assert unread["text"] == "somehow not myself today"


def test_what_has_no_value_is_absent(client):
    def values(node: Any) -> Iterator[Any]:
        for below in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
            yield below
            yield from values(below)

    for moment in MOMENTS:
        told = client.post("/v1/explanations", json=demo_situation(moment)).json
        assert not any(value is None for value in values(told))


def test_the_same_body_gets_the_same_bytes_but_for_the_id(client):
    body = demo_situation("set-break")
    first, second = (client.post("/v1/suggestions", json=body) for _ in range(2))
    ids = [json.loads(response.data)["advice_id"] for response in (first, second)]
    assert ids[0] != ids[1]
    assert all(uuid.UUID(each).version == 4 for each in ids)
    assert first.data.replace(ids[0].encode(), b"") == second.data.replace(ids[1].encode(), b"")


@pytest.mark.parametrize("include", ["everything", "beliefs,", "beliefs profile", ""])
def test_an_unknown_part_is_refused(client, include):
    response = client.post("/v1/suggestions", json={"moment": "set-break"}, query_string={"include": include})
    told = response.get_json()
    assert (response.status_code, told["type"]) == (422, "/problems/invalid-query")
    (error,) = told["errors"]
    assert (error["parameter"], error["value"]) == ("include", include)
    assert "beliefs, profile" in error["expected"]


def test_figures_are_rounded_for_reading(client):
    answer = advised(client, demo_situation("set-break"))
    for suggestion in answer["suggestions"]:
        figures = [figure for figure in (suggestion.get("worth") or {}).values() if isinstance(figure, float)]
        assert all(figure == round(figure, 4) for figure in figures)
        assert all(rest["probability"] == round(rest["probability"], 3) for rest in suggestion["rests_on"])
    assert all(belief["probability"] == round(belief["probability"], 3) for belief in answer["beliefs"])
    assert answer["beliefs"]


CHANGED = {"what": "conduct.change_of_play", "value": "they stand deeper"}
SMASHES = [
    {"what": "net.set_smash_direction", "counts": {"across": 4, "other": 1}},
    {"what": "net.set_smash_direction", "count": 3, "of": 4},
]


@pytest.mark.parametrize(
    ("seen", "tactic", "reason"),
    [
        ([CHANGED], "counter-their-adaptation", {"text": "change of play: seen", "value": "they stand deeper"}),
        (SMASHES, "smash-defence-position",
         {"text": "set smashes across the body: across 78% of 9 chances", "count": 3, "of": 4}),
    ],
)  # fmt: skip
def test_a_reason_tells_what_was_posted(client, seen, tactic, reason):
    context = {"coaching": "permitted", "device": "coach"}
    answer = advised(client, {"moment": "set-break", "context": context, "observations": seen, "limit": 10})
    (told,) = next(s["because"] for s in answer["suggestions"] if s["tactic"] == tactic)
    assert told.items() >= reason.items()
    assert told["what"] == seen[-1]["what"]


def test_where_coaching_is_barred_only_safety_and_the_notice_stand(client):
    body = demo_situation("change-of-ends")
    body["context"]["coaching"] = "not-permitted"
    answer = advised(client, body)
    assert {name for name, value in answer.items() if value} == {"advice_id", "moment", "rulebook", "notice"}


def test_an_explanation_adds_the_trace_to_the_same_advice(client):
    body = demo_situation("change-of-ends")
    advice = advised(client, body)
    told = client.post("/v1/explanations", json=body).json
    assert ExplanationSchema().validate(told) == {}
    assert {**{name: told[name] for name in ORDER}, "advice_id": ""} == {**advice, "advice_id": ""}
    ids = {fact["id"] for fact in told["facts"]}
    assert told["fired"]
    assert all(set(fired["facts"]) <= ids for fired in told["fired"])
    shown = {s["tactic"] for s in advice["suggestions"]}
    assert shown <= {why["tactic"] for why in told["why"] if why.get("verdict") == "suggested"}


def test_an_explained_price_adds_up(client, rulebook):
    told = client.post("/v1/explanations", json=demo_situation("change-of-ends")).json
    prices = {why["tactic"]: why["price"] for why in told["why"]}
    assert {name for name, lines in prices.items() if lines} == {t.id for t in rulebook.tactics.values() if t.price}
    for head, *terms, last in filter(None, prices.values()):
        assert head.startswith("points in 100 tried points")
        share, costs, total = (float(number or 0) for number in SUMMED.fullmatch(last).groups())
        tried = sum(float(term.split()[0]) for term in terms)
        assert share / 100 * tried - costs == pytest.approx(total, abs=0.02), last


def test_safety_beyond_the_limit_is_told_as_shown(client):
    context = {"coaching": "permitted", "device": "coach", "heat": {"air_c": 33}}
    body = {"moment": "set-break", "limit": 1, "own": {"pain_now": 1, "pain_site": "knee"}, "context": context}
    told = client.post("/v1/explanations", json=body).json
    assert [s["tactic"] for s in told["suggestions"]] == ["heat-precautions"]
    assert [line["tactic"] for line in told["safety"]] == ["heat-precautions", "spare-a-sore-spot"]
    why = {why["tactic"]: (why.get("verdict"), why["why"]) for why in told["why"]}
    assert why["spare-a-sore-spot"] == ("suggested", "shown as safety advice")


def test_nothing_is_explained_where_nothing_may_be_advised_nor_a_tactic_that_nobody_knows(client):
    body = demo_situation("change-of-ends")
    body["context"]["device"] = "nobody"
    told = client.post("/v1/explanations", json=body).json
    assert (told["facts"], told["fired"], told["why"]) == ([], [], [])
    refused = client.post("/v1/explanations?tactic=moon-ball-everything", json={"moment": "set-break"})
    assert refused.status_code == 422
    assert refused.json["errors"][0]["parameter"] == "tactic"


@pytest.mark.parametrize("won", [0, 1390, 2000])
def test_as_many_tries_as_a_match_has_points_are_judged_and_more_are_refused(client, won):
    tries = [{"tactic": "work-weaker-wing", "tried": 2000, "won": won}]
    assert advised(client, {**demo_situation("change-of-ends"), "tries": tries})["plan"]
    more = [*tries, {"tactic": "swap-serve-spots", "tried": 1, "won": 0}, {**tries[0], "tried": 1, "won": 0}]
    response = client.post("/v1/suggestions", json={"moment": "change-of-ends", "tries": more})
    assert response.status_code == 422
    assert [fault["pointer"] for fault in json.loads(response.data)["errors"]] == ["/tries/2/tried"]
