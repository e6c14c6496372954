"""Matches: created for two players of the club, changed by version, listed."""

from datetime import UTC, datetime
from typing import Any

import pytest

from tacticapi.club import (
    Conflict,
    IdempotentRequest,
    NotFound,
    Refused,
    Services,
    VersionConflict,
    advising,
    entries,
    export,
    matches,
    players,
    retention,
    scorekeeping,
)
from tacticapi.club.clubs import KEEP_DAYS_UNDER_18
from tacticapi.domain.situation import Moment
from tacticapi.store import new_id

from .asked import situation_of


def test_a_match_is_found_again_as_created(services: Services, club: str, played: Any, another_match: Any) -> None:
    match = matches.get(services, club, played.match)
    assert (match.status, match.version, match.revision, match.ended_at) == ("open", 1, 0, None)
    second = another_match(context={"surface": "clay", "wind": None}, first_server=None)
    assert matches.get(services, club, second.match).context == {"surface": "clay"}
    matches.end(services, club, second.match)
    assert [m.id for m in matches.find(services, club)] == [played.match, second.match]
    assert [m.id for m in matches.find(services, club, status="ended")] == [second.match]
    assert [m.id for m in matches.find(services, club, opponent_id=played.opponent, limit=1)] == [played.match]
    assert matches.find(services, club, own_id=new_id()) == []


def test_times_are_kept_to_the_moment_whatever_the_zone(services: Services, club: str, another_match: Any) -> None:
    time = datetime.fromisoformat("2026-05-01T18:30:00.123456+05:30")
    match = matches.get(services, club, another_match(started_at=time).match)
    assert match.started_at == time
    assert match.started_at.tzinfo is UTC
    with pytest.raises(Refused, match="time zone"):
        another_match(started_at=datetime(2026, 5, 1))


def test_each_side_has_a_player_of_that_side_and_club(
    services: Services, club: str, other_club: str, played: Any
) -> None:
    with pytest.raises(Refused, match="side is own"):
        matches.create(services, club, played.opponent, played.own)
    stranger = players.create(services, other_club, "own", "Larch").id
    for own in (stranger, new_id()):
        with pytest.raises(NotFound):
            matches.create(services, club, own, played.opponent)


def test_a_repeated_request_makes_one_match(services: Services, club: str, played: Any) -> None:
    once = IdempotentRequest.of("key-1", "the same")
    first = matches.create(services, club, played.own, played.opponent, once=once)
    assert matches.create(services, club, played.own, played.opponent, once=once) == first
    assert len(matches.find(services, club)) == 2


def test_only_the_version_that_was_read_is_changed(services: Services, club: str, played: Any) -> None:
    changed = matches.update(services, club, played.match, 1, first_server="opponent")
    assert (changed.version, changed.revision, changed.first_server) == (2, 1, "opponent")
    with pytest.raises(VersionConflict):
        matches.update(services, club, played.match, 1, first_server="own")
    for wrong in ({"first_server": "nobody"}, {"status": "ended"}, {"context": {"surface": "ice"}}):
        with pytest.raises(Refused):
            matches.update(services, club, played.match, 2, **wrong)


def test_a_format_that_the_points_cannot_have_been_played_in_is_refused(
    services: Services, club: str, played: Any
) -> None:
    score = {"sets": [[6, 4]], "games": [5, 0], "points": ["40", "0"], "server": "own"}
    scorekeeping.add_point(services, club, played.match, {"score": score})
    with pytest.raises(Refused):
        matches.update(services, club, played.match, 1, context={"format": {"games": 4}})
    assert matches.get(services, club, played.match).version == 1


def test_who_serves_first_can_be_mended_later(services: Services, club: str, another_match: Any) -> None:
    match = another_match(first_server=None).match
    scorekeeping.add_point(services, club, match, {"winner": "own"})
    assert situation_of(services, club, match, Moment.BETWEEN_POINTS).points_played is None
    matches.update(services, club, match, 1, first_server="opponent")
    played = situation_of(services, club, match, Moment.BETWEEN_POINTS).points_played
    assert played is not None
    assert (played.return_won, played.return_of, played.serve_of) == (1, 1, 0)


def test_a_kind_that_the_rules_do_not_know_any_more_is_kept_but_not_read(
    services: Services, club: str, played: Any
) -> None:
    added = entries.add_observation(services, club, played.match, {"what": "warmup.low_forehand", "rating": 1})
    with services.work(club) as work:
        work.observations.update(added.id, {"kind": "warmup.retired", "body": {"what": "warmup.retired", "rating": 1}})
        work.commit()
    assert situation_of(services, club, played.match, Moment.CHANGE_OF_ENDS).observations == ()
    assert len(entries.entries_page(services, club, played.match, "observations")) == 1


def test_after_the_end_no_health_item_comes_in_by_a_change(services: Services, club: str, played: Any) -> None:
    ended = matches.end(services, club, played.match)
    with pytest.raises(Refused, match="running match"):
        matches.update(services, club, played.match, ended.version, own_facts={"pain_now": 3})


def test_after_an_end_with_nothing_of_health_a_match_may_go_on_and_is_kept_from_its_next_end(
    services, club, played, clock
):
    entries.add_observation(services, club, played.match, {"what": "warmup.low_forehand", "rating": 1})
    ended = matches.end(services, club, played.match)
    clock.forward(days=30)
    again = matches.reopen(services, club, played.match, version=ended.version)
    assert (again.status, again.ended_at, again.version, again.revision) == ("open", None, 3, ended.revision + 1)
    assert matches.reopen(services, club, played.match) == again
    assert situation_of(services, club, played.match, Moment.CHANGE_OF_ENDS).observations
    assert retention.sweep(services).ended == 1  # it began more than two days ago
    last = matches.get(services, club, played.match)
    assert last.ended_at > ended.ended_at
    clock.forward(days=KEEP_DAYS_UNDER_18 - 1)
    assert retention.sweep(services).matches == 0
    clock.forward(days=2)
    assert retention.sweep(services).matches == 1


@pytest.mark.parametrize("given", ["fact", "sight", "note", "reason", "name"])
def test_what_stopped_play_is_not_lost_by_ending_and_reopening(services, club, played, given):
    sign = "numb left arm and chest pain"
    if given == "fact":
        matches.update(services, club, played.match, 1, own_facts={"pain_now": 3})
        matches.update(services, club, played.match, 2, own_facts={})  # advice was given on it meanwhile, perhaps
        matches.update(services, club, played.match, 3, own_facts={"pain_now": 1})
    elif given == "sight":
        entries.add_observation(services, club, played.match, {"what": "physical.heavy_legs", "seen": True})
    elif given == "note":
        note = {"what": "warmup.low_forehand", "rating": 1, "note": sign}
        entries.add_observation(services, club, played.match, note)
    elif given == "name":
        scorekeeping.add_point(services, club, played.match, {"winner": "own", "by": sign})
    else:
        entries.add_observation(services, club, played.match, {"what": "serve.followed_to_net", "count": 5, "of": 6})
        live = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
        shown = live.advice.suggestions[0].tactic
        advising.add_feedback(services, club, live.id, shown, kind="not-used", reason=sign)
    assert "chest pain" not in "".join(export.export(services, club))
    matches.end(services, club, played.match)
    with pytest.raises(Conflict, match="nothing of health") as refused:
        matches.reopen(services, club, played.match)
    assert refused.value.code == "health-removed"
    assert matches.get(services, club, played.match).status == "ended"


def test_an_end_that_broke_off_after_health_items_went_cannot_be_undone_either(services, club, played, monkeypatch):
    entries.add_observation(services, club, played.match, {"what": "physical.heavy_legs", "seen": True})

    def broken(*_: Any) -> None:
        raise OSError("the power went")

    with monkeypatch.context() as patched:
        patched.setattr(matches, "_end_locked", broken)
        with pytest.raises(OSError, match="the power went"):
            matches.end(services, club, played.match)
    assert matches.end(services, club, played.match).reopenable is False


def test_a_match_is_deleted_by_the_version_that_was_read(services, club, played):
    scorekeeping.add_point(services, club, played.match, {"winner": "own"})
    with pytest.raises(VersionConflict):
        matches.delete(services, club, played.match, version=2)
    assert len(entries.entries_page(services, club, played.match, "points")) == 1
    matches.delete(services, club, played.match, version=1)
    with pytest.raises(NotFound):
        matches.get(services, club, played.match)
