"""Whatever JSON comes, an answer or a problem document goes back, never a failure of ours."""

import copy
import json
from typing import Any

from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tacticapi.api.situations.schemas import SituationSchema
from tacticapi.domain.terms import Moment
from tacticapi.seeds import demo_situation

LEAVES = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["own", "forehand", "40", "north", "strong", "right", "set-break", "rally.forehand_errors"])
)
VALUES = st.recursive(
    LEAVES,
    lambda below: st.lists(below, max_size=4) | st.dictionaries(st.text(max_size=6), below, max_size=4),
    max_leaves=12,
)
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


def places(node: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a body, but for the body itself."""
    steps = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    found = []
    for step, below in steps:
        found += [(*at, step), *places(below, (*at, step))]
    return found


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
    body = copy.deepcopy(demo_situation(moment))
    for _ in range(data.draw(st.integers(1, 3))):
        *above, step = data.draw(st.sampled_from(places(body)))
        holder = body
        for name in above:
            holder = holder[name]
        if data.draw(st.booleans()):
            holder[step] = data.draw(VALUES)
        else:
            del holder[step]
    answered(app, body)
