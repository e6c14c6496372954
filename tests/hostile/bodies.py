"""Bodies that nobody would send on purpose: any JSON, and a good body with something changed."""

import copy
import json
from typing import Any

from hypothesis import strategies as st
from werkzeug.test import TestResponse

from tacticapi.api.http.problems import ProblemSchema

NO_PLAIN_JSON = [  # with the place that is named when a situation is asked about
    (b"", ""),
    (b"{", ""),
    (b'{"moment": "set-break",}', ""),
    (b"'moment'", ""),
    (b'{"moment": "set-break"} {}', ""),
    (b'{"moment": "a\x00b"}', ""),
    (b'{"moment": "set-break", "limit": NaN}', "/limit"),
    (b'{"moment": "set-break", "limit": -Infinity}', "/limit"),
    (b'{"moment": "set-break", "minutes_left": 1e999}', "/minutes_left"),
    (b'{"moment": "set-break", "limit": 9007199254740993}', "/limit"),
    (b'{"moment": "set-break", "limit": ' + b"9" * 100_000 + b"}", "/limit"),
    (b'{"moment": "set-break", "moment": "set-break"}', "/moment"),
    (b'{"own": {"volley": 1, "volley": 2}, "moment": "set-break"}', "/own/volley"),
    (b'{"moment": "set-break", "own": {"favourite_pattern": "\\ud800"}}', "/own/favourite_pattern"),
    (b'{"moment": "set-break", "own": {"favourite_pattern": "a\\u0000b"}}', "/own/favourite_pattern"),
    (b'{"moment": "set-break", "\\udfff": 1}', "/?"),
    (b"[" * 100_000, ""),
    (b'{"a":' * 100_000, ""),
    (b'{"a":' * 21 + b"1" + b"}" * 21, "/a" * 20),
    ('{"moment": "set-break"}'.encode("utf-16"), ""),
    (b'{"moment": "set-break", "note": "\xff"}', ""),
    (b'{"moment": "caf\xe9"}', ""),
]


def any_json(*words: Any) -> st.SearchStrategy[Any]:
    """Any JSON; `words` are values with a meaning at some place, so that they turn up at the wrong ones."""
    leaves = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.sampled_from(words)
    return st.recursive(
        leaves,
        lambda below: st.lists(below, max_size=4) | st.dictionaries(st.text(max_size=6), below, max_size=4),
        max_leaves=12,
    )


def changed(data: st.DataObject, good: Any, values: st.SearchStrategy[Any]) -> Any:
    """A copy of a good body in which one to three things are gone or something else."""
    body = copy.deepcopy(good)
    for _ in range(data.draw(st.integers(1, 3))):
        found = places(body)
        if not found:
            break
        *above, step = data.draw(st.sampled_from(found))
        holder = body
        for name in above:
            holder = holder[name]
        if data.draw(st.booleans()):
            holder[step] = data.draw(values)
        else:
            del holder[step]
    return body


def places(node: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a body, but for the body itself."""
    steps = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [place for step, below in steps for place in ((*at, step), *places(below, (*at, step)))]


def refused(response: TestResponse, *statuses: int) -> list[str]:
    """Where the faults are that a valid problem document of one of these statuses tells of."""
    assert response.status_code in statuses, (response.request.path, response.status, response.text[:300])
    assert response.content_type == "application/problem+json"
    problem = json.loads(response.data.decode("utf-8"))
    assert ProblemSchema().validate(problem) == {}
    assert problem["status"] == response.status_code
    return [error.get("pointer", "") for error in problem.get("errors", [])]
