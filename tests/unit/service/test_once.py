"""Keys that make a repeated request safe."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.club import Once, Refused

JSON = st.recursive(st.none() | st.booleans() | st.integers() | st.text(), st.lists, max_leaves=6)


@given(st.dictionaries(st.text(), JSON))
def test_the_order_of_members_does_not_make_another_request(body: dict[str, object]) -> None:
    turned = dict(reversed(body.items()))
    assert Once.of("key", body) == Once.of("key", turned)


def test_another_body_is_another_request() -> None:
    assert Once.of("key", {"count": 1}).request_hash != Once.of("key", {"count": 2}).request_hash
    assert Once.of("key", {"count": 1}).request_hash != Once.of("key", {"count": True}).request_hash


@pytest.mark.parametrize("key", ["", "x" * 256, "ké", "a\nb", "\x00"])
def test_a_key_is_a_short_printable_text(key: str) -> None:
    with pytest.raises(Refused):
        Once.of(key, {})
