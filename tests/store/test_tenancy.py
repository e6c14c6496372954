"""Two clubs: whatever is asked of one club's repositories with the other's ids finds nothing and changes nothing."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from tacticapi.club import IdempotentRequest, Services, advising, clubs, entries, matches, players, scorekeeping
from tacticapi.club.clubs import create
from tacticapi.domain.situation import Moment
from tacticapi.store import ConstraintViolation, Record

from ..databases import TABLES

LATER = datetime(2100, 1, 1, tzinfo=UTC)


def fill(services: Services, label: str) -> str:
    """A club with a row in every table."""
    club = create(services, label).club_id
    own = players.create(services, club, "own", f"Only {label}", once=IdempotentRequest.of(f"key of {label}", 1)).id
    opponent = players.create(services, club, "opponent", "Sleet", {"handedness": "left"}).id
    match = matches.create(services, club, own, opponent).id
    entries.add_observations(services, club, match, {"what": "serve.followed_to_net", "count": 5, "of": 6})
    scorekeeping.add_points(services, club, match, {"winner": "own"})
    scorekeeping.add_tries(services, club, match, {"tactic": "swap-serve-spots", "tried": 2, "won": 1})
    live = advising.live_advice(services, club, match, Moment.CHANGE_OF_ENDS)
    advising.add_feedback(services, club, live.id, live.advice.suggestions[0].tactic, kind="used")
    clubs.create_token(services, club, "phone", ["read"])
    return club


def everything(services: Services, club: str) -> list[Record]:
    with services.reading(club) as work:
        return [row for table in TABLES for row in getattr(work, table).find()]


@pytest.fixture
def two(services: Services) -> tuple[str, str]:
    return fill(services, "ours"), fill(services, "theirs")


def test_a_row_of_another_club_cannot_be_added(services, two):
    ours, theirs = two
    for row in everything(services, theirs):
        with services.work(ours) as work:
            repository = next(getattr(work, table) for table in TABLES if getattr(work, table).record is type(row))
            with pytest.raises(ValueError, match="another club"):
                repository.add(row)


def test_a_row_cannot_point_into_another_club(services, two):
    ours, theirs = two
    stranger = players.find(services, theirs, side="own")[0].id
    match = matches.find(services, ours)[0]
    with services.work(ours) as work, pytest.raises(ConstraintViolation):
        work.matches.update(match.id, {"own_id": stranger})
    entry = entries.page_of_match(services, ours, match.id, "observations")[0]
    with services.work(ours) as work, pytest.raises(ConstraintViolation):
        work.observations.add(replace(entry, id=stranger, match_id=matches.find(services, theirs)[0].id, sequence=99))


def test_sweeping_one_club_leaves_the_other(services, two):
    ours, theirs = two
    before = everything(services, theirs)
    with services.work(ours) as work:
        assert work.answers.delete_before(LATER) == 1
        assert work.answers.claim("key of theirs", "hash", LATER) is None
        work.tokens.delete_dead(LATER)
    assert everything(services, theirs) == before
