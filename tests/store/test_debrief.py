"""The debrief of a finished match."""

from typing import Any

import pytest

from tacticapi.club import Refused, Services, advising, entries, matches, scorekeeping
from tacticapi.club.debrief import debrief
from tacticapi.domain.situation import Moment
from tacticapi.scoring.formats import Format
from tacticapi.scoring.score import State


@pytest.fixture
def finished(services: Services, club: str, played: Any, seen: list[dict[str, Any]], finish: Any) -> Any:
    """The demo match, won, with advice, feedback and tries."""
    scorekeeping.add_point(services, club, played.match, {"winner": "opponent", "own_error": True})
    entries.add_observations(services, club, played.match, seen[:26])
    live = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
    first = live.advice.suggestions[0].tactic
    advising.add_feedback(services, club, live.id, first, kind="not-used", reason="too early")
    entries.add_observations(services, club, played.match, seen[26:])
    scorekeeping.add_tries(services, club, played.match, {"tactic": first, "tried": 10, "won": 7})
    finish(played.match)
    return played


def test_a_match_that_goes_on_is_not_debriefed(services: Services, club: str, played: Any) -> None:
    with pytest.raises(Refused, match="has ended"):
        debrief(services, club, played.match)


def test_the_score_story_runs_from_the_first_point_to_the_last(services: Services, club: str, finished: Any) -> None:
    told = debrief(services, club, finished.match)
    assert told.winner == "own"
    assert [point.number for point in told.story] == list(range(1, len(told.story) + 1))
    assert (told.story[0].set, told.story[0].game, told.story[0].server) == (1, 1, "own")
    assert told.story[-1].chance == 1.0
    for before, point in zip(told.story, told.story[1:], strict=False):
        assert point.chance_before == pytest.approx(before.chance)
    for point in told.story:
        if point.winner is not None:
            assert (point.chance > point.chance_before) == (point.winner == "own")
            assert point.importance > 0
    assert [point.importance for point in told.story if point.winner is None] == [0.0]


def test_the_most_important_points_come_first(services: Services, club: str, finished: Any) -> None:
    told = debrief(services, club, finished.match)
    worth = [point.importance for point in told.important]
    assert worth == sorted(worth, reverse=True)
    assert worth[0] == max(point.importance for point in told.story)


def test_what_was_suggested_tried_and_won_is_counted(services: Services, club: str, finished: Any) -> None:
    told = debrief(services, club, finished.match)
    line = told.tactics[0]
    assert (line.suggested, line.first, line.not_used, line.reasons) == (1, 1, 1, ("too early",))
    assert (line.tries.won, line.tries.of, line.tries.share) == (7, 10, 0.7)
    assert line.tries.low is not None
    assert line.tries.high is not None
    assert 0.4 < line.tries.low < 0.7 < line.tries.high < 0.9
    assert line.worse is not None
    assert line.enough


def test_beliefs_are_told_at_start_and_end_with_the_surprises(services: Services, club: str, finished: Any) -> None:
    told = debrief(services, club, finished.match)
    moves = {(one.trait, one.wing): one for one in told.beliefs}
    assert told.surprises
    assert all(moves[one.trait, one.wing] == one for one in told.surprises)
    sizes = [abs(one.move) for one in told.surprises]
    assert sizes == sorted(sizes, reverse=True)
    assert all(one.because for one in told.surprises)


def test_next_time_begins_with_what_pays(services: Services, club: str, finished: Any) -> None:
    told = debrief(services, club, finished.match)
    assert 1 <= len(told.begin_with) <= 3
    assert all(one.because for one in told.begin_with)


def test_a_match_without_points_is_debriefed_too(services: Services, club: str, played: Any) -> None:
    matches.end(services, club, played.match)
    told = debrief(services, club, played.match)
    assert (told.story, told.score, told.tactics) == ((), None, ())


def test_the_format_of_the_match_is_that_of_its_score(services: Services, club: str, finished: Any) -> None:
    told = debrief(services, club, finished.match)
    assert told.score is not None
    fmt = Format.from_wire({"sets": 3, "final_set": "match-tie-break-10"})
    assert State(fmt, tuple(tuple(s) for s in told.score["sets"])).winner == "own"
