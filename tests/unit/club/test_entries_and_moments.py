"""Corrections of entries, the moment that follows from the score, and requests with a key."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.club import IdempotentRequest
from tacticapi.club.entries import standing
from tacticapi.club.scorekeeping import moment_of
from tacticapi.domain.situation import Moment
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score
from tacticapi.store import Entry

NOW = datetime(2026, 5, 1, tzinfo=UTC)


def entry(number, supersedes=None, *, body=True):
    earlier = None if supersedes is None else str(supersedes)
    return Entry("club", str(number), "match", number, earlier, {"n": number} if body else None, NOW)


def numbers(*entries):
    return [one.sequence for one in standing(entries)]


def test_a_correction_stands_in_the_place_of_what_it_corrects_and_what_was_withdrawn_is_left_out():
    assert numbers(entry(1), entry(2), entry(3)) == [1, 2, 3]
    assert numbers(entry(1), entry(2), entry(3, 1), entry(4, 3)) == [4, 2]
    assert numbers(entry(1), entry(2), entry(3, 1, body=False)) == [2]
    assert numbers(entry(2), entry(3, 1)) == [2, 3]  # what it corrected is gone


@given(st.lists(st.integers(0, 5), max_size=30))
def test_every_line_has_one_standing_entry(corrections):
    newest = [1, 2, 3]
    entries = [entry(1), entry(2), entry(3)]
    for number, which in enumerate(corrections, 4):
        entries.append(entry(number, newest[which % 3]))
        newest[which % 3] = number
    assert numbers(*entries) == newest


@pytest.mark.parametrize(
    ("score", "moment"),
    [
        ({"games": [0, 0], "points": ["15", "0"]}, Moment.BETWEEN_POINTS),
        ({"games": [1, 0]}, Moment.CHANGE_OF_ENDS),
        ({"games": [1, 1]}, Moment.BETWEEN_POINTS),
        ({"games": [2, 1], "points": ["0", "15"]}, Moment.BETWEEN_POINTS),
        ({"sets": [[6, 4]]}, Moment.SET_BREAK),
        ({"sets": [[6, 3]]}, Moment.SET_BREAK),  # ends change too: the longer break is the one that counts
        ({"sets": [[6, 3]], "points": ["15", "0"]}, Moment.BETWEEN_POINTS),
        ({"games": [6, 6], "points": ["4", "2"]}, Moment.CHANGE_OF_ENDS),
        ({"games": [6, 6], "points": ["4", "3"]}, Moment.BETWEEN_POINTS),
        ({"sets": [[6, 3], [6, 3]]}, Moment.AFTER_MATCH),
    ],
)
def test_breaks_and_the_end_follow_from_the_score(score, moment):
    assert moment_of(read_score(Format(), score)) is moment
    assert moment_of(None) is Moment.AFTER_WARM_UP  # before the first point


JSON = st.recursive(st.none() | st.booleans() | st.integers() | st.text(), st.lists, max_leaves=6)


@given(st.dictionaries(st.text(), JSON))
def test_the_order_of_members_does_not_make_another_request(body):
    turned = dict(reversed(body.items()))
    assert IdempotentRequest.of("key", body) == IdempotentRequest.of("key", turned)


def test_another_body_is_another_request_and_the_same_is_never_kept_as_the_same_hash():
    """Whoever reads the database cannot tell which requests were alike, nor look hashes up in a table."""
    same, *others = (IdempotentRequest.of("key", {"count": count}) for count in (1, 2, True))
    first, second = same.hashed(), same.hashed()
    assert first != second
    assert same.is_that_of(first)
    assert same.is_that_of(second)
    assert not any(other.is_that_of(first) for other in others)
