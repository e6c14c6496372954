"""Matches: created for two players of the club, changed by version, listed."""

from datetime import UTC, datetime

import pytest
from sqlalchemy.exc import StatementError

from tacticapi.club import Refused, entries, matches, players, scorekeeping
from tacticapi.domain.situation import Moment

from .asked import situation_of


def test_times_are_kept_to_the_moment_whatever_the_zone(services, club, another_match):
    time = datetime.fromisoformat("2026-05-01T18:30:00.123456+05:30")
    match = matches.get(services, club, another_match(started_at=time).match)
    assert match.started_at == time
    assert match.started_at.tzinfo is UTC
    with pytest.raises(Refused, match="time zone"):
        another_match(started_at=datetime(2026, 5, 1))


def test_who_serves_first_can_be_mended_later(services, club, another_match):
    match = another_match(first_server=None).match
    scorekeeping.add_point(services, club, match, {"winner": "own"})
    assert situation_of(services, club, match, Moment.BETWEEN_POINTS).points_played is None
    matches.update(services, club, match, 1, first_server="opponent")
    played = situation_of(services, club, match, Moment.BETWEEN_POINTS).points_played
    assert (played.return_won, played.return_of, played.serve_of) == (1, 1, 0)


def test_a_kind_that_the_rules_do_not_know_any_more_is_kept_but_not_read(services, club, played):
    added = entries.add_observation(services, club, played.match, {"what": "warmup.low_forehand", "rating": 1})
    with services.work(club) as work:
        work.observations.update(added.id, {"kind": "warmup.retired", "body": {"what": "warmup.retired", "rating": 1}})
        work.commit()
    assert situation_of(services, club, played.match, Moment.CHANGE_OF_ENDS).observations == ()
    assert len(entries.entries_page(services, club, played.match, "observations")) == 1


def test_a_moment_without_a_time_zone_is_not_kept(services, club, played):
    with (
        services.work(club) as work,
        pytest.raises(StatementError, match="a time without its time zone cannot be stored"),
    ):
        work.players.update(played.own, {"updated_at": datetime(2026, 5, 1, 9)})


@pytest.mark.parametrize("over", [False, True])
def test_a_change_of_a_player_counts_as_a_change_of_the_matches(services, club, played, over):
    if over:
        matches.end(services, club, played.match)
    before = matches.revision(services, club, played.match)
    players.update(services, club, played.opponent, 1, facts={"handedness": "right"})
    assert matches.revision(services, club, played.match) == before + 1
