"""Ids against the layout of UUID version 7 (RFC 9562, section 5.7)."""

import uuid

from hypothesis import given
from hypothesis import strategies as st

from tacticapi.store import is_id, new_id
from tacticapi.store.records import NS_PER_MS, uuid7

MOMENTS = st.integers(0, 2**48 * NS_PER_MS - 1)


@given(MOMENTS)
def test_an_id_has_the_milliseconds_the_version_and_the_variant_where_the_rfc_puts_them(unix_ns: int) -> None:
    made = uuid7(unix_ns)
    assert made.int >> 80 == unix_ns // NS_PER_MS
    assert (made.int >> 76) & 0xF == 7
    assert (made.int >> 62) & 0b11 == 0b10
    assert made.variant == uuid.RFC_4122


def test_an_id_of_the_rfc_s_example_time_begins_like_the_rfc_s_example() -> None:
    # RFC 9562, appendix A.6: 2022-02-22 14:22:22.000 GMT-05:00 is 0x017F22E279B0
    assert str(uuid7(0x017F22E279B0 * NS_PER_MS)).startswith("017f22e2-79b0-7")


@given(MOMENTS, st.integers(245, 10**12))
def test_ids_sort_by_the_time_they_were_made(unix_ns: int, later: int) -> None:
    # the fraction counts in steps of 1/4096 ms
    if unix_ns + later < 2**48 * NS_PER_MS:
        assert str(uuid7(unix_ns)) < str(uuid7(unix_ns + later))


def test_ids_differ_and_are_known_as_ids() -> None:
    made = {new_id() for _ in range(1000)}
    assert len(made) == 1000
    assert all(is_id(one) for one in made)


def test_what_is_no_id_is_known_as_none() -> None:
    for text in ("", "1", "\x00", "017F22E2-79B0-7CC3-98C4-DC0C0C07398F", "017f22e279b07cc398c4dc0c0c07398f", "é" * 36):
        assert not is_id(text)
