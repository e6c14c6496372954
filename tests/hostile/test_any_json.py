"""Whatever JSON comes, an answer or a problem document goes back, never a failure of ours."""

import json
from typing import Any

from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from openapi.document import examples
from tacticapi.api.calculations.score import ImportanceQuestionSchema
from tacticapi.api.calculations.serve_mix import ServeMixQuestionSchema
from tacticapi.api.situations import SituationSchema
from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_situation

from .bodies import any_json, changed

ADVICE = "/v1/suggestions"
WORDS = ("own", "forehand", "40", "north", "strong", "right", "set-break", "rally.forehand_errors", "wide", "T", 0.6, 3)
VALUES = any_json(*WORDS)
ADDRESSES = st.sampled_from(
    [ADVICE, *(f"/v1/calculations/{name}" for name in ("win-chance", "importance", "serve-mix"))]
)
SCHEMAS = (SituationSchema, ImportanceQuestionSchema, ServeMixQuestionSchema)
NAMES = st.sampled_from(["other", *dict.fromkeys(name for schema in SCHEMAS for name in schema().fields)])
MOMENTS = st.sampled_from([moment.value for moment in Moment])
GOOD = st.sampled_from(
    [(ADVICE, demo_situation(moment.value)) for moment in Moment] + [(one.path, dict(one.body)) for one in examples()]
)
SOME = settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)


def answered(app: Flask, address: str, body: Any) -> None:
    text = json.dumps(body).encode("utf-8", "surrogatepass")
    response = app.test_client().post(address, data=text, content_type="application/json")
    assert response.status_code in (200, 400, 422), response.text
    answer = json.loads(response.data)
    assert "NaN" not in response.text
    if response.status_code != 200:
        assert answer["errors"]
        assert all(error["expected"] for error in answer["errors"])


@SOME
@given(address=ADDRESSES, moment=MOMENTS, fields=st.dictionaries(NAMES, VALUES, max_size=4))
def test_any_values_under_the_right_names_are_answered(app, address, moment, fields):
    answered(app, address, {"moment": moment, **fields})


@SOME
@given(good=GOOD, data=st.data())
def test_a_good_body_with_something_changed_is_answered(app, good, data):
    address, body = good
    answered(app, address, changed(data, body, VALUES))
