"""Whatever JSON comes, an answer or a problem document goes back, never a failure of ours."""

import json
from typing import Any

from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tacticapi.api.situations import SituationSchema
from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_situation

from .bodies import any_json, changed

VALUES = any_json("own", "forehand", "40", "north", "strong", "right", "set-break", "rally.forehand_errors")
NAMES = st.sampled_from([*SituationSchema().fields, "other"])
MOMENTS = st.sampled_from([moment.value for moment in Moment])
FEW = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)


def answered(app: Flask, body: Any) -> None:
    text = json.dumps(body).encode("utf-8", "surrogatepass")
    response = app.test_client().post("/v1/suggestions", data=text, content_type="application/json")
    assert response.status_code in (200, 400, 422), response.text
    answer = json.loads(response.data)
    if response.status_code != 200:
        assert answer["errors"]
        assert all(error["expected"] for error in answer["errors"])


@FEW
@given(body=VALUES)
def test_any_json_is_answered(app: Flask, body: Any) -> None:
    answered(app, body)


@FEW
@given(moment=MOMENTS, fields=st.dictionaries(NAMES, VALUES, max_size=4))
def test_any_values_under_the_right_names_are_answered(app: Flask, moment: str, fields: dict[str, Any]) -> None:
    answered(app, {"moment": moment, **fields})


@FEW
@given(moment=MOMENTS, data=st.data())
def test_a_good_situation_with_something_changed_is_answered(app: Flask, moment: str, data: st.DataObject) -> None:
    answered(app, changed(data, demo_situation(moment), VALUES))
