"""Merge patches against the test cases published in RFC 7396, appendix A."""

from typing import Any

import pytest

from ...cases import merge_patch

APPENDIX_A: list[tuple[Any, Any, Any]] = [
    ({"a": "b"}, {"a": "c"}, {"a": "c"}),
    ({"a": "b"}, {"b": "c"}, {"a": "b", "b": "c"}),
    ({"a": "b"}, {"a": None}, {}),
    ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
    ({"a": ["b"]}, {"a": "c"}, {"a": "c"}),
    ({"a": "c"}, {"a": ["b"]}, {"a": ["b"]}),
    ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d"}}),
    ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
    (["a", "b"], ["c", "d"], ["c", "d"]),
    ({"a": "b"}, ["c"], ["c"]),
    ({"a": "foo"}, None, None),
    ({"a": "foo"}, "bar", "bar"),
    ({"e": None}, {"a": 1}, {"e": None, "a": 1}),
    ([1, 2], {"a": "b", "c": None}, {"a": "b"}),
    ({}, {"a": {"bb": {"ccc": None}}}, {"a": {"bb": {}}}),
]


@pytest.mark.parametrize(("target", "patch", "result"), APPENDIX_A)
def test_a_patch_gives_the_published_result(target: Any, patch: Any, result: Any) -> None:
    assert merge_patch(target, patch) == result


def test_a_patch_changes_neither_side() -> None:
    target, patch = {"own": {"volley": 1}}, {"own": {"volley": 3}}
    assert merge_patch(target, patch) == {"own": {"volley": 3}}
    assert target == {"own": {"volley": 1}}
    assert patch == {"own": {"volley": 3}}
