"""Matches: created for two players of the club, changed by version, listed."""

from datetime import UTC, datetime
from typing import Any

import pytest

from tacticapi.domain.terms import Moment
from tacticapi.service import (
    Desk,
    NotFound,
    Once,
    Refused,
    VersionConflict,
    lookups,
    matches,
    observations,
    players,
    points,
)
from tacticapi.store import new_id

from .asked import situation_of


def test_a_match_is_found_again_as_created(desk: Desk, club: str, played: Any, another_match: Any) -> None:
    match = matches.get(desk, club, played.match)
    assert (match.status, match.version, match.revision, match.ended_at) == ("open", 1, 0, None)
    second = another_match(context={"surface": "clay", "wind": None}, first_server=None)
    assert matches.get(desk, club, second.match).context == {"surface": "clay"}
    matches.end(desk, club, second.match)
    assert [m.id for m in matches.find(desk, club)] == [played.match, second.match]
    assert [m.id for m in matches.find(desk, club, status="ended")] == [second.match]
    assert [m.id for m in matches.find(desk, club, opponent_id=played.opponent, limit=1)] == [played.match]
    assert matches.find(desk, club, own_id=new_id()) == []


def test_times_are_kept_to_the_moment_whatever_the_zone(desk: Desk, club: str, another_match: Any) -> None:
    time = datetime.fromisoformat("2026-05-01T18:30:00.123456+05:30")
    match = matches.get(desk, club, another_match(started_at=time).match)
    assert match.started_at == time
    assert match.started_at.tzinfo is UTC
    with pytest.raises(Refused, match="time zone"):
        another_match(started_at=datetime(2026, 5, 1))


def test_each_side_has_a_player_of_that_side_and_club(desk: Desk, club: str, other_club: str, played: Any) -> None:
    with pytest.raises(Refused, match="side is own"):
        matches.create(desk, club, played.opponent, played.own)
    stranger = players.create(desk, other_club, "own", "Larch").id
    for own in (stranger, new_id()):
        with pytest.raises(NotFound):
            matches.create(desk, club, own, played.opponent)


def test_a_repeated_request_makes_one_match(desk: Desk, club: str, played: Any) -> None:
    once = Once.of("key-1", "the same")
    first = matches.create(desk, club, played.own, played.opponent, once=once)
    assert matches.create(desk, club, played.own, played.opponent, once=once) == first
    assert len(matches.find(desk, club)) == 2


def test_only_the_version_that_was_read_is_changed(desk: Desk, club: str, played: Any) -> None:
    changed = matches.update(desk, club, played.match, 1, first_server="opponent")
    assert (changed.version, changed.revision, changed.first_server) == (2, 1, "opponent")
    with pytest.raises(VersionConflict):
        matches.update(desk, club, played.match, 1, first_server="own")
    for wrong in ({"first_server": "nobody"}, {"status": "ended"}, {"context": {"surface": "ice"}}):
        with pytest.raises(Refused):
            matches.update(desk, club, played.match, 2, **wrong)


def test_a_format_that_the_points_cannot_have_been_played_in_is_refused(desk: Desk, club: str, played: Any) -> None:
    score = {"sets": [[6, 4]], "games": [5, 0], "points": ["40", "0"], "server": "own"}
    points.add(desk, club, played.match, {"score": score})
    with pytest.raises(Refused):
        matches.update(desk, club, played.match, 1, context={"format": {"games": 4}})
    assert matches.get(desk, club, played.match).version == 1


def test_who_serves_first_can_be_mended_later(desk: Desk, club: str, another_match: Any) -> None:
    match = another_match(first_server=None).match
    points.add(desk, club, match, {"winner": "own"})
    assert situation_of(desk, club, match, Moment.BETWEEN_POINTS).points_played is None
    matches.update(desk, club, match, 1, first_server="opponent")
    played = situation_of(desk, club, match, Moment.BETWEEN_POINTS).points_played
    assert played is not None
    assert (played.return_won, played.return_of, played.serve_of) == (1, 1, 0)


def test_a_kind_that_the_rules_do_not_know_any_more_is_kept_but_not_read(desk: Desk, club: str, played: Any) -> None:
    added = observations.add(desk, club, played.match, {"what": "warmup.low_forehand", "rating": 1})
    with desk.work(club) as work:
        work.observations.update(added.id, {"kind": "warmup.retired", "body": {"what": "warmup.retired", "rating": 1}})
        work.commit()
    assert situation_of(desk, club, played.match, Moment.CHANGE_OF_ENDS).observations == ()
    assert len(lookups.entries_page(desk, club, played.match, "observations")) == 1


def test_after_the_end_no_health_item_comes_in_by_a_change(desk: Desk, club: str, played: Any) -> None:
    ended = matches.end(desk, club, played.match)
    with pytest.raises(Refused, match="running match"):
        matches.update(desk, club, played.match, ended.version, own_facts={"pain_now": 3})
