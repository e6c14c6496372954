"""Observations, points and tries: what adds up, what replaces, what is refused."""

from typing import Any

import pytest

from tacticapi.club import IdempotentRequest, NotFound, Services, entries, matches, scorekeeping
from tacticapi.club.services import done_once
from tacticapi.domain.situation import Moment

from ..databases import delete_club
from .asked import situation_of

SPOTS = {"what": "serve.ad_court_spots", "counts": {"wide": 6, "body": 0, "T": 1}, "set": 1, "game": 3}
ROUND = {"what": "warmup.ran_round_backhand", "count": 1, "of": 6}


def seen(services: Services, club: str, match: str) -> list[Any]:
    return list(situation_of(services, club, match, Moment.CHANGE_OF_ENDS).observations)


def test_counts_of_the_same_game_add_up_while_a_correction_replaces(services, club, played):
    first = entries.add_observation(services, club, played.match, ROUND)
    entries.add_observation(services, club, played.match, {**ROUND, "count": 2})
    assert [one.count for one in seen(services, club, played.match)] == [1, 2]
    entries.add_observation(services, club, played.match, {**ROUND, "count": 4}, supersedes=first.id)
    assert [one.count for one in seen(services, club, played.match)] == [4, 2]
    assert [one.index for one in seen(services, club, played.match)] == [0, 1]


def test_sequence_numbers_are_the_revisions_of_the_match(services, club, played):
    one = entries.add_observation(services, club, played.match, ROUND)
    many = entries.add_observations(services, club, played.match, [ROUND, SPOTS])
    point = scorekeeping.add_point(services, club, played.match, {"winner": "own"})
    assert [one.sequence, *(r.sequence for r in many), point.sequence] == [1, 2, 3, 4]
    assert matches.revision(services, club, played.match) == 4
    assert [
        e.sequence for e in entries.entries_page(services, club, played.match, "observations", after=1, limit=1)
    ] == [2]


def test_a_key_of_a_club_that_is_gone_is_not_taken(services, club, played):
    delete_club(services, club)
    with pytest.raises(NotFound), services.work(club) as work:
        done_once(work, IdempotentRequest.of("a", 1), services.now(), dict)


def test_a_corrected_point_moves_all_that_follow(services, club, played):
    first = scorekeeping.add_point(services, club, played.match, {"winner": "opponent"})
    for _ in range(3):
        scorekeeping.add_point(services, club, played.match, {"winner": "own"})
    mended = scorekeeping.add_point(services, club, played.match, {"winner": "own"}, supersedes=first.id)
    assert mended.score["games"] == [1, 0]
    back = scorekeeping.add_point(services, club, played.match, None, supersedes=mended.id)
    assert back.score["points"] == ["40", "0"]


def test_tries_add_up_and_can_be_corrected(services, club, played):
    body = {"tactic": "swap-serve-spots", "tried": 4, "won": 1}
    first = scorekeeping.add_tries(services, club, played.match, body)
    scorekeeping.add_tries(services, club, played.match, {**body, "won": 3})
    now = situation_of(services, club, played.match, Moment.CHANGE_OF_ENDS).tries
    assert [(t.tactic, t.tried, t.won) for t in now] == [("swap-serve-spots", 8, 4)]
    scorekeeping.add_tries(services, club, played.match, {**body, "tried": 5}, supersedes=first.id)
    now = situation_of(services, club, played.match, Moment.CHANGE_OF_ENDS).tries
    assert [(t.tried, t.won) for t in now] == [(9, 4)]
