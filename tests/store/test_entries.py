"""What is kept of a match: what adds up, what replaces, and the situation that follows from it."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy.exc import StatementError

from tacticapi.club import advising, dossier, entries, matches, players, scorekeeping
from tacticapi.club.advising import SAME
from tacticapi.club.services import IdempotentRequest, NotFound, Refused, Services, done_once
from tacticapi.domain.situation import Moment

from ..databases import delete_club
from .conftest import given_again, situation_of

NOW = Moment.CHANGE_OF_ENDS
ROUND = {"what": "warmup.ran_round_backhand", "count": 1, "of": 6}


def observed(services: Services, club: str, match: str) -> list[Any]:
    return list(situation_of(services, club, match, NOW).observations)


def test_counts_of_the_same_game_add_up_while_a_correction_replaces(services, club, played):
    (first,) = entries.add_observations(services, club, played.match, ROUND)
    entries.add_observations(services, club, played.match, {**ROUND, "count": 2})
    assert [one.count for one in observed(services, club, played.match)] == [1, 2]
    entries.add_observations(services, club, played.match, {**ROUND, "count": 4}, supersedes=first.id)
    assert [one.count for one in observed(services, club, played.match)] == [4, 2]
    assert [one.index for one in observed(services, club, played.match)] == [0, 1]


def test_a_key_of_a_club_that_is_gone_is_not_taken(services, club, played):
    delete_club(services, club)
    with pytest.raises(NotFound), services.work(club) as work:
        done_once(work, IdempotentRequest.of("a", 1), services.now(), dict)


def test_a_corrected_point_moves_all_that_follow(services, club, played):
    (first,) = scorekeeping.add_points(services, club, played.match, {"winner": "opponent"}).receipts
    for _ in range(3):
        scorekeeping.add_points(services, club, played.match, {"winner": "own"})
    mended = scorekeeping.add_points(services, club, played.match, {"winner": "own"}, supersedes=first.id)
    assert mended.score["games"] == [1, 0]
    back = scorekeeping.add_points(services, club, played.match, None, supersedes=mended.receipts[0].id)
    assert back.score["points"] == ["40", "0"]


def test_tries_add_up_and_can_be_corrected(services, club, played):
    body = {"tactic": "swap-serve-spots", "tried": 4, "won": 1}
    (first,) = scorekeeping.add_tries(services, club, played.match, body)
    scorekeeping.add_tries(services, club, played.match, {**body, "won": 3})
    now = situation_of(services, club, played.match, NOW).tries
    assert [(t.tactic, t.tried, t.won) for t in now] == [("swap-serve-spots", 8, 4)]
    scorekeeping.add_tries(services, club, played.match, {**body, "tried": 5}, supersedes=first.id)
    now = situation_of(services, club, played.match, NOW).tries
    assert [(t.tried, t.won) for t in now] == [(9, 4)]


@pytest.fixture
def under_way(services: Services, club: str, played: Any, seen: list[dict[str, Any]]) -> Any:
    """The demo match after a game, with what was seen and tried."""
    entries.add_observations(services, club, played.match, seen[:26])
    for winner in ("own", "own", "opponent", "own"):
        scorekeeping.add_points(services, club, played.match, {"winner": winner})
    scorekeeping.add_points(services, club, played.match, {"winner": "own"})
    scorekeeping.add_points(services, club, played.match, {"winner": "opponent", "own_error": True})
    body = {"tactic": "make-serve-and-volleyer-volley-low", "tried": 4, "won": 2}
    scorekeeping.add_tries(services, club, played.match, body)
    return played


def test_the_situation_is_everything_that_is_kept(services, club, under_way):
    now = situation_of(services, club, under_way.match, NOW)
    assert len(now.observations) == 26
    assert now.own["volley"] == 1
    assert now.opponent["handedness"] == "left"
    assert now.context["format"] == {"sets": 3, "final_set": "match-tie-break-10"}
    assert now.score == {"sets": [], "games": [1, 0], "points": ["0", "15"], "server": "opponent"}
    assert (now.points_played.serve_won, now.points_played.serve_of) == (4, 5)
    assert (now.points_played.return_won, now.points_played.return_of) == (0, 1)
    assert (now.own_errors.unforced, now.own_errors.of) == (1, 1)
    assert [(t.tried, t.won) for t in now.tries] == [(4, 2)]
    assert now.previous is None


def test_facts_of_the_match_stand_above_those_of_the_player(services, club, played):
    matches.update(services, club, played.match, 1, own_facts={"volley": 4, "pain_now": 2})
    now = situation_of(services, club, played.match, NOW)
    assert (now.own["volley"], now.own["pain_now"], now.own["speed"]) == (4, 2, 3)


def test_times_are_kept_to_the_moment_whatever_the_zone(services, club, another_match):
    time = datetime.fromisoformat("2026-05-01T18:30:00.123456+05:30")
    match = matches.get(services, club, another_match(started_at=time).match)
    assert match.started_at == time
    assert match.started_at.tzinfo is UTC
    with pytest.raises(Refused, match="time zone"):
        another_match(started_at=datetime(2026, 5, 1))


def test_who_serves_first_can_be_mended_later(services, club, another_match):
    match = another_match(first_server=None).match
    scorekeeping.add_points(services, club, match, {"winner": "own"})
    assert situation_of(services, club, match, Moment.BETWEEN_POINTS).points_played is None
    matches.update(services, club, match, 1, first_server="opponent")
    played = situation_of(services, club, match, Moment.BETWEEN_POINTS).points_played
    assert (played.return_won, played.return_of, played.serve_of) == (1, 1, 0)


def test_a_kind_that_the_rules_do_not_know_any_more_is_kept_but_not_read(services, club, played):
    (added,) = entries.add_observations(services, club, played.match, {"what": "warmup.low_forehand", "rating": 1})
    with services.work(club) as work:
        work.observations.update(added.id, {"kind": "warmup.retired", "body": {"what": "warmup.retired", "rating": 1}})
    assert situation_of(services, club, played.match, NOW).observations == ()
    assert len(entries.page_of_match(services, club, played.match, "observations")) == 1


def test_a_moment_without_a_time_zone_is_not_kept(services, club, played):
    refused = pytest.raises(StatementError, match="a time without its time zone cannot be stored")
    with services.work(club) as work, refused:
        work.players.update(played.own, {"updated_at": datetime(2026, 5, 1, 9)})


@pytest.mark.parametrize("over", [False, True])
def test_a_change_of_a_player_counts_as_a_change_of_the_matches(services, club, played, over):
    if over:
        matches.end(services, club, played.match)
    before = matches.revision(services, club, played.match)
    players.update(services, club, played.opponent, 1, facts={"handedness": "right"})
    assert matches.revision(services, club, played.match) == before + 1


def test_what_was_seen_later_stands_later_however_late_it_was_sent(services, club, played, clock):
    def rated(rating: int, hours_ago: float | None = None, **more: Any) -> str:
        told = {} if hours_ago is None else {"observed_at": (clock.time - timedelta(hours=hours_ago)).isoformat()}
        body = {"what": "warmup.low_forehand", "rating": rating, **told}
        return entries.add_observations(services, club, played.match, body, **more)[0].id

    rated(0)
    clock.forward(hours=3)
    late = rated(1, hours_ago=2)
    rated(2, hours_ago=2.5)
    rated(3)
    rated(4, hours_ago=4)
    order = [4, 0, 2, 1, 3]
    assert [one.rating for one in observed(services, club, played.match)] == order
    assert [one.index for one in observed(services, club, played.match)] == [0, 1, 2, 3, 4]
    given = advising.live_advice(services, club, played.match, NOW)
    mended = rated(0, supersedes=late)  # of the same sighting, so at its place
    assert [one.rating for one in observed(services, club, played.match)] == [4, 0, 2, 0, 3]
    rated(1, hours_ago=0, supersedes=mended)
    assert [one.rating for one in observed(services, club, played.match)] == [4, 0, 2, 3, 1]
    assert given_again(services, club, given.id).sort == SAME
    matches.end(services, club, played.match)
    (earlier,) = dossier.taught(services, club, played.opponent)
    assert [one.rating for one in earlier.seen] == [0, 2, 3, 1]  # the newest four, of which the first is not one


def test_points_stay_in_the_order_of_adding_since_each_follows_another(services, club, played, clock):
    for winner, hour in (("own", 8), ("opponent", 7), ("opponent", 6)):
        point = {"winner": winner, "observed_at": f"2026-05-01T0{hour}:00:00Z", "by": "Ann"}
        scorekeeping.add_points(services, club, played.match, point)
    kept = entries.page_of_match(services, club, played.match, "points")
    winners = ("own", "opponent", "opponent")
    assert [entry.body for entry in kept] == [{"winner": winner, "by": "Ann"} for winner in winners]
    assert kept[0].observed_at == datetime(2026, 5, 1, 8, tzinfo=UTC)
    assert scorekeeping.score(services, club, played.match)[0]["points"] == ["15", "30"]
