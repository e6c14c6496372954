"""Observations, points and tries: what adds up, what replaces, what is refused."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from tacticapi.club import (
    IdempotencyConflict,
    IdempotentRequest,
    NotFound,
    Refused,
    Services,
    advising,
    dossier,
    entries,
    matches,
    scorekeeping,
)
from tacticapi.club.advising import SAME
from tacticapi.club.services import done_once
from tacticapi.domain.situation import MAX_TRIED, Moment
from tacticapi.store import new_id

from ..databases import delete_club
from .asked import given_again, situation_of

SPOTS = {"what": "serve.ad_court_spots", "counts": {"wide": 6, "body": 0, "T": 1}, "set": 1, "game": 3}
ROUND = {"what": "warmup.ran_round_backhand", "count": 1, "of": 6}


def seen(services: Services, club: str, match: str) -> list[Any]:
    return list(situation_of(services, club, match, Moment.CHANGE_OF_ENDS).observations)


def test_counts_of_the_same_game_add_up_while_a_correction_replaces(services: Services, club: str, played: Any) -> None:
    first = entries.add_observation(services, club, played.match, ROUND)
    entries.add_observation(services, club, played.match, {**ROUND, "count": 2})
    assert [one.count for one in seen(services, club, played.match)] == [1, 2]
    entries.add_observation(services, club, played.match, {**ROUND, "count": 4}, supersedes=first.id)
    assert [one.count for one in seen(services, club, played.match)] == [4, 2]
    assert [one.index for one in seen(services, club, played.match)] == [0, 1]


def test_the_history_stays(services: Services, club: str, played: Any) -> None:
    first = entries.add_observation(services, club, played.match, ROUND)
    second = entries.add_observation(services, club, played.match, {**ROUND, "count": 4}, supersedes=first.id)
    third = entries.add_observation(services, club, played.match, None, supersedes=second.id)
    kept = entries.entries_page(services, club, played.match, "observations")
    assert [(e.id, e.supersedes, e.body and e.body["count"]) for e in kept] == [
        (first.id, None, 1),
        (second.id, first.id, 4),
        (third.id, second.id, None),
    ]
    assert seen(services, club, played.match) == []
    assert entries.get_entry(services, club, played.match, "observations", first.id).body == ROUND


def test_an_entry_is_corrected_once_and_then_its_correction_is(services: Services, club: str, played: Any) -> None:
    first = entries.add_observation(services, club, played.match, ROUND)
    second = entries.add_observation(services, club, played.match, {**ROUND, "count": 4}, supersedes=first.id)
    with pytest.raises(Refused, match=second.id):
        entries.add_observation(services, club, played.match, ROUND, supersedes=first.id)
    gone = entries.add_observation(services, club, played.match, None, supersedes=second.id)
    with pytest.raises(Refused, match="withdrew"):
        entries.add_observation(services, club, played.match, None, supersedes=gone.id)


def test_an_entry_of_another_match_cannot_be_corrected(
    services: Services, club: str, played: Any, another_match: Any
) -> None:
    first = entries.add_observation(services, club, played.match, ROUND)
    other = another_match()
    for id in (first.id, new_id()):
        with pytest.raises(NotFound):
            entries.add_observation(services, club, other.match, ROUND, supersedes=id)
    with pytest.raises(NotFound):
        entries.get_entry(services, club, other.match, "observations", first.id)


def test_sequence_numbers_are_the_revisions_of_the_match(services: Services, club: str, played: Any) -> None:
    one = entries.add_observation(services, club, played.match, ROUND)
    many = entries.add_observations(services, club, played.match, [ROUND, SPOTS])
    point = scorekeeping.add_point(services, club, played.match, {"winner": "own"})
    assert [one.sequence, *(r.sequence for r in many), point.sequence] == [1, 2, 3, 4]
    assert matches.revision(services, club, played.match) == 4
    assert [
        e.sequence for e in entries.entries_page(services, club, played.match, "observations", after=1, limit=1)
    ] == [2]


def test_of_many_with_a_fault_none_is_kept(services: Services, club: str, played: Any) -> None:
    with pytest.raises(Refused) as refused:
        entries.add_observations(services, club, played.match, [ROUND, {"what": "warmup.low_forehand", "rating": 9}])
    assert refused.value.faults[0].path == (1, "rating")
    assert entries.entries_page(services, club, played.match, "observations") == []
    assert matches.revision(services, club, played.match) == 0


def test_a_bulk_answers_line_by_line(services: Services, club: str, played: Any) -> None:
    lines = entries.add_observations_in_bulk(services, club, played.match, [ROUND, {"what": "nothing"}, 7, SPOTS])
    assert [line.receipt.sequence if line.receipt else None for line in lines] == [1, None, None, 2]
    assert [bool(line.faults) for line in lines] == [False, True, True, False]
    assert len(seen(services, club, played.match)) == 2


def test_a_repeated_bulk_is_done_once_and_answers_the_same(services: Services, club: str, played: Any) -> None:
    bodies = [ROUND, {"what": "nothing"}, SPOTS]
    once = IdempotentRequest.of("bulk-1", bodies)
    first = entries.add_observations_in_bulk(services, club, played.match, bodies, once=once)
    assert entries.add_observations_in_bulk(services, club, played.match, bodies, once=once) == first
    assert len(entries.entries_page(services, club, played.match, "observations")) == 2
    with pytest.raises(IdempotencyConflict):
        entries.add_observations_in_bulk(
            services, club, played.match, bodies[:1], once=IdempotentRequest.of("bulk-1", bodies[:1])
        )


def test_every_entry_is_added_once_under_one_key(services: Services, club: str, played: Any) -> None:
    observation, point, tried = (
        lambda: entries.add_observation(services, club, played.match, ROUND, once=IdempotentRequest.of("a", 1)),
        lambda: scorekeeping.add_point(
            services, club, played.match, {"winner": "own"}, once=IdempotentRequest.of("b", 1)
        ),
        lambda: scorekeeping.add_tries(
            services,
            club,
            played.match,
            {"tactic": "swap-serve-spots", "tried": 2, "won": 1},
            once=IdempotentRequest.of("c", 1),
        ),
    )
    for add in (observation, point, tried):
        assert add() == add()  # type: ignore[no-untyped-call]
    assert matches.revision(services, club, played.match) == 3


def test_a_key_of_a_club_that_is_gone_is_not_taken(services: Services, club: str, played: Any) -> None:
    delete_club(services, club)
    with pytest.raises(NotFound), services.work(club) as work:
        done_once(work, IdempotentRequest.of("a", 1), services.now(), dict)


def test_the_score_follows_the_points(services: Services, club: str, played: Any) -> None:
    for winner in ("own", "own", "opponent", "own"):
        added = scorekeeping.add_point(services, club, played.match, {"winner": winner})
    assert added.score == {"sets": [], "games": [0, 0], "points": ["40", "15"], "server": "own"}
    assert scorekeeping.add_point(services, club, played.match, {"winner": "own"}).score == {
        "sets": [], "games": [1, 0], "points": ["0", "0"], "server": "opponent",
    }  # fmt: skip


def test_a_corrected_point_moves_all_that_follow(services: Services, club: str, played: Any) -> None:
    first = scorekeeping.add_point(services, club, played.match, {"winner": "opponent"})
    for _ in range(3):
        scorekeeping.add_point(services, club, played.match, {"winner": "own"})
    mended = scorekeeping.add_point(services, club, played.match, {"winner": "own"}, supersedes=first.id)
    assert mended.score is not None
    assert mended.score["games"] == [1, 0]
    back = scorekeeping.add_point(services, club, played.match, None, supersedes=mended.id)
    assert back.score is not None
    assert back.score["points"] == ["40", "0"]


def test_a_score_set_by_hand_is_played_on_from(services: Services, club: str, played: Any) -> None:
    score = {"sets": [[6, 4]], "games": [5, 2], "points": ["40", "0"], "server": "own"}
    assert scorekeeping.add_point(services, club, played.match, {"score": score}).score == score
    added = scorekeeping.add_point(services, club, played.match, {"winner": "own"})
    assert added.winner == "own"
    assert scorekeeping.score(services, club, played.match) == added.score


def test_after_the_decision_no_point_follows_but_one_can_be_corrected(
    services: Services, club: str, played: Any
) -> None:
    score = {"sets": [[6, 4]], "games": [5, 0], "points": ["40", "0"], "server": "own"}
    scorekeeping.add_point(services, club, played.match, {"score": score})
    last = scorekeeping.add_point(services, club, played.match, {"winner": "own"})
    with pytest.raises(Refused, match="decided"):
        scorekeeping.add_point(services, club, played.match, {"winner": "own"})
    assert (
        scorekeeping.add_point(services, club, played.match, {"winner": "opponent"}, supersedes=last.id).winner is None
    )


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"winner": "nobody"},
        {"winner": "own", "own_error": True},
        {"winner": "opponent", "own_error": "yes"},
        {"winner": "own", "score": {}},
        {"score": {"games": [9, 0]}},
        {"score": []},
        {"winner": "own", "colour": 1},
        7,
    ],
)
def test_an_impossible_point_is_refused(services: Services, club: str, played: Any, body: Any) -> None:
    with pytest.raises(Refused):
        scorekeeping.add_point(services, club, played.match, body)
    assert entries.entries_page(services, club, played.match, "points") == []


@pytest.mark.parametrize(
    "body",
    [
        {"tactic": "nothing", "tried": 1, "won": 0},
        {"tactic": "swap-serve-spots", "tried": 1, "won": 2},
        {"tactic": "swap-serve-spots", "tried": True, "won": 0},
        {"tactic": "swap-serve-spots", "won": 0},
        {"tactic": "swap-serve-spots", "tried": 1, "won": 0, "colour": 1},
    ],
)
def test_impossible_tries_are_refused(services: Services, club: str, played: Any, body: dict[str, Any]) -> None:
    with pytest.raises(Refused):
        scorekeeping.add_tries(services, club, played.match, body)


def test_tries_add_up_and_can_be_corrected(services: Services, club: str, played: Any) -> None:
    body = {"tactic": "swap-serve-spots", "tried": 4, "won": 1}
    first = scorekeeping.add_tries(services, club, played.match, body)
    scorekeeping.add_tries(services, club, played.match, {**body, "won": 3})
    now = situation_of(services, club, played.match, Moment.CHANGE_OF_ENDS).tries
    assert [(t.tactic, t.tried, t.won) for t in now] == [("swap-serve-spots", 8, 4)]
    scorekeeping.add_tries(services, club, played.match, {**body, "tried": 5}, supersedes=first.id)
    now = situation_of(services, club, played.match, Moment.CHANGE_OF_ENDS).tries
    assert [(t.tried, t.won) for t in now] == [(9, 4)]


def test_after_the_end_nothing_is_played_but_notes_may_follow(services: Services, club: str, played: Any) -> None:
    matches.end(services, club, played.match)
    with pytest.raises(Refused, match="not ended"):
        scorekeeping.add_point(services, club, played.match, {"winner": "own"})
    with pytest.raises(Refused, match="not ended"):
        scorekeeping.add_tries(services, club, played.match, {"tactic": "swap-serve-spots", "tried": 1, "won": 1})
    with pytest.raises(Refused, match="health"):
        entries.add_observation(services, club, played.match, {"what": "physical.heavy_legs", "seen": True})
    assert entries.add_observation(services, club, played.match, SPOTS).sequence > 0


def test_nothing_is_added_to_a_match_of_another_club(services: Services, other_club: str, played: Any) -> None:
    for add in (
        lambda: entries.add_observation(services, other_club, played.match, ROUND),
        lambda: entries.add_observations_in_bulk(services, other_club, played.match, [ROUND]),
        lambda: scorekeeping.add_point(services, other_club, played.match, {"winner": "own"}),
        lambda: entries.entries_page(services, other_club, played.match, "points"),
        lambda: matches.end(services, other_club, played.match),
    ):
        with pytest.raises(NotFound):
            add()


def test_tries_of_one_tactic_are_no_more_in_sum_than_in_one_entry(services: Services, club: str, played: Any) -> None:
    many = {"tactic": "swap-serve-spots", "tried": MAX_TRIED, "won": 0}
    first = scorekeeping.add_tries(services, club, played.match, many)
    with pytest.raises(Refused, match="all entries together"):
        scorekeeping.add_tries(services, club, played.match, {**many, "tried": 1})
    scorekeeping.add_tries(services, club, played.match, {**many, "tried": 1}, supersedes=first.id)
    scorekeeping.add_tries(services, club, played.match, {**many, "tried": 1})


def test_what_was_seen_later_stands_later_however_late_it_was_sent(services, club, played, clock):
    def rated(rating: int, hours_ago: float | None = None, **more: Any) -> str:
        told = {} if hours_ago is None else {"observed_at": (clock.time - timedelta(hours=hours_ago)).isoformat()}
        body = {"what": "warmup.low_forehand", "rating": rating, **told}
        return entries.add_observation(services, club, played.match, body, **more).id

    rated(0)
    clock.forward(hours=3)
    late = rated(1, hours_ago=2)
    rated(2, hours_ago=2.5)
    rated(3)
    rated(4, hours_ago=4)
    order = [4, 0, 2, 1, 3]
    assert [one.rating for one in seen(services, club, played.match)] == order
    assert [one.index for one in seen(services, club, played.match)] == [0, 1, 2, 3, 4]
    given = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
    mended = rated(0, supersedes=late)  # of the same sighting, so at its place
    assert [one.rating for one in seen(services, club, played.match)] == [4, 0, 2, 0, 3]
    rated(1, hours_ago=0, supersedes=mended)
    assert [one.rating for one in seen(services, club, played.match)] == [4, 0, 2, 3, 1]
    assert given_again(services, club, given.id).sort == SAME
    matches.end(services, club, played.match)
    (earlier,) = dossier.taught(services, club, played.opponent).earlier
    assert [one.rating for one in earlier.seen] == [0, 2, 3, 1]  # the newest four, of which the first is not one


def test_points_stay_in_the_order_of_adding_since_each_follows_another(services, club, played, clock):
    for winner, hour in (("own", 8), ("opponent", 7), ("opponent", 6)):
        point = {"winner": winner, "observed_at": f"2026-05-01T0{hour}:00:00Z", "by": "Ann"}
        scorekeeping.add_point(services, club, played.match, point)
    kept = entries.entries_page(services, club, played.match, "points")
    assert [entry.body for entry in kept] == [
        {"winner": winner, "by": "Ann"} for winner in ("own", "opponent", "opponent")
    ]
    assert kept[0].observed_at == datetime(2026, 5, 1, 8, tzinfo=UTC)
    assert scorekeeping.score(services, club, played.match)["points"] == ["15", "30"]
