"""Corrections: of each line of entries the newest stands, at the place of the first."""

from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from tacticapi.club.entries import standing
from tacticapi.store import Entry

NOW = datetime(2026, 5, 1, tzinfo=UTC)


def entry(number: int, supersedes: int | None = None, *, body: bool = True) -> Entry:
    earlier = None if supersedes is None else str(supersedes)
    return Entry("club", str(number), "match", number, earlier, {"n": number} if body else None, NOW)


def numbers(*entries: Entry) -> list[int]:
    return [one.sequence for one in standing(entries)]


def test_entries_stand_in_the_order_in_which_they_were_made() -> None:
    assert numbers(entry(1), entry(2), entry(3)) == [1, 2, 3]


def test_a_correction_stands_in_the_place_of_what_it_corrects() -> None:
    assert numbers(entry(1), entry(2), entry(3, 1), entry(4, 3)) == [4, 2]


def test_what_was_withdrawn_is_left_out() -> None:
    assert numbers(entry(1), entry(2), entry(3, 1, body=False)) == [2]


def test_a_correction_stands_alone_when_what_it_corrected_is_gone() -> None:
    assert numbers(entry(2), entry(3, 1)) == [2, 3]


@given(st.lists(st.integers(0, 5), max_size=30))
def test_every_line_has_one_standing_entry(corrections: list[int]) -> None:
    newest: list[int] = [1, 2, 3]
    entries = [entry(1), entry(2), entry(3)]
    for number, which in enumerate(corrections, 4):
        entries.append(entry(number, newest[which % 3]))
        newest[which % 3] = number
    assert numbers(*entries) == newest
