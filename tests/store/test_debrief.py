"""The debrief of a finished match."""

import re
from typing import Any

import pytest

from tacticapi.club import Services, advising, entries, matches, scorekeeping
from tacticapi.club.debrief import debrief, score_story
from tacticapi.domain.situation import Moment, Verdict
from tacticapi.scoring.formats import Format
from tacticapi.scoring.score import State

# what is worked out does not depend on the database: one engine is enough
pytestmark = [pytest.mark.usefixtures("url"), pytest.mark.parametrize("url", ["sqlite"], indirect=True, scope="module")]


@pytest.fixture
def finished(services: Services, club: str, played: Any, seen: list[dict[str, Any]], finish: Any) -> Any:
    """The demo match, won, with advice, feedback and tries."""
    scorekeeping.add_points(services, club, played.match, {"winner": "opponent", "own_error": True})
    entries.add_observations(services, club, played.match, seen[:26])
    live = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
    first = live.advice.suggestions[0].tactic
    advising.add_feedback(services, club, live.id, first, kind="not-used", reason="too early")
    entries.add_observations(services, club, played.match, seen[26:])
    scorekeeping.add_tries(services, club, played.match, {"tactic": first, "tried": 10, "won": 7})
    finish(played.match)
    return played


def test_the_story_the_most_important_points_and_what_was_tried_and_believed(services, club, finished):
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
        assert (point.importance > 0) == (point.winner is not None)
    worth = [point.importance for point in told.important]
    assert worth == sorted(worth, reverse=True)
    assert worth[0] == max(point.importance for point in told.story)
    fmt = Format.from_wire({"sets": 3, "final_set": "match-tie-break-10"})
    assert State(fmt, tuple(tuple(s) for s in told.score["sets"])).winner == "own"
    line = told.tactics[0]
    assert (line.suggested, line.first, line.not_used, line.reasons) == (1, 1, 1, ("too early",))
    assert (line.tries.won, line.tries.of, line.tries.share) == (7, 10, 0.7)
    assert 0.4 < line.tries.low < 0.7 < line.tries.high < 0.9
    assert line.worse is not None
    assert line.enough
    moves = {(one.trait, one.wing): one for one in told.beliefs}
    assert told.surprises
    assert all(moves[one.trait, one.wing] == one and one.because for one in told.surprises)
    sizes = [abs(one.move) for one in told.surprises]
    assert sizes == sorted(sizes, reverse=True)
    assert 1 <= len(told.begin_with) <= 3
    assert all(one.because for one in told.begin_with)


FIRST, SECOND = "work-weaker-wing", "high-ball-to-high-ball-weakness"
SETS = (("own", *["opponent"] * 3, *["own"] * 3, *["opponent"] * 3), ("own", "opponent", "opponent", *["own"] * 5))


@pytest.fixture
def turned(services: Services, club: str, played: Any) -> Any:
    """One tactic won 4 of 16 in the first set, another 17 of 24 in the second, in whose game 4 the opponent changed."""

    def tried(tactic: str, tried: int, won: int) -> None:
        scorekeeping.add_tries(services, club, played.match, {"tactic": tactic, "tried": tried, "won": won})

    def points(winner: str, count: int) -> None:
        for _ in range(count):
            scorekeeping.add_points(services, club, played.match, {"winner": winner})

    for number, (tactic, winners) in enumerate(zip((FIRST, SECOND), SETS, strict=True), 1):
        tried(tactic, 0, 0)
        for game, winner in enumerate(winners, 1):
            if (number, game) == (2, 4):
                change = {"what": "conduct.change_of_play", "value": "stands closer", "set": 2, "game": 4}
                entries.add_observations(services, club, played.match, change)
            points(winner, 3)
            if number == 2:
                tried(tactic, 3, 3 if game == 6 else 2)
            elif game <= 8:
                tried(tactic, 2, game % 2)
            points(winner, 1)
    return played


def test_it_tells_what_was_played_when_and_what_that_won(services, club, turned):
    plan = advising.live_advice(services, club, turned.match, Moment.CHANGE_OF_ENDS).advice.plan
    matches.end(services, club, turned.match)
    first, second = debrief(services, club, turned.match).played
    assert (first.tactic, first.since, first.until, first.tried, first.won) == (FIRST, (1, 1), (1, 8), 16, 4)
    assert (first.verdict, first.why[:26]) == (Verdict.CHANGE, "4 of 16 points won with it")
    assert (second.tactic, second.since, second.until, second.tried, second.won) == (SECOND, (2, 1), (2, 8), 24, 17)
    assert (second.verdict, second.why[:27]) == (Verdict.KEEP, "17 of 24 points won with it")
    assert (plan.tactic, plan.tried, plan.won) == (SECOND, 15, 11)
    assert second.why.endswith("it pays; 11 of 15 since their play changed")


def test_it_tells_what_they_changed_and_after_what(services, club, turned):
    errors = {"what": "rally.backhand_errors", "of": 10, "set": 1}
    counted = [{**errors, "count": 9 if game >= 5 else 0, "game": game} for game in range(1, 9)]
    delays = [{**one, "what": "tempo.delay", "count": None, "of": None, "amount": 3} for one in counted]
    changes = [{"what": "conduct.change_of_play", "seen": game < 6, "set": 2, "game": game} for game in (1, 3, 6)]
    entries.add_observations(services, club, turned.match, [*counted, *delays, *changes])
    matches.end(services, club, turned.match)
    backhand, first, third, posted = debrief(services, club, turned.match).their_changes
    assert (first.since, first.after) == ((2, 1), "after you lost the set")
    assert (third.since, third.after) == ((2, 3), "after they held serve")
    assert (backhand.since, backhand.at, backhand.after) == ((1, 5), "1-3", "after they held serve")
    assert "before set 1 game 5" in backhand.what
    assert (posted.since, posted.what) == ((2, 4), "stands closer")
    assert (posted.at, posted.after) == ("4-6 1-2", "after you lost your serve")


def test_next_time_begins_with_what_worked_best(services, club, turned, seen):
    entries.add_observations(services, club, turned.match, seen)
    matches.end(services, club, turned.match)
    told = debrief(services, club, turned.match)
    assert len(told.begin_with) == 3
    assert (told.begin_with[0].tactic, told.begin_with[0].because[0][:27]) == (SECOND, "17 of 24 points won with it")
    assert FIRST not in {one.tactic for one in told.begin_with}


def test_of_what_worked_the_better_comes_first_and_little_tried_is_no_proof(services, club, another_match, seen):
    def begun(tries):
        match = another_match().match
        entries.add_observations(services, club, match, seen)
        for tactic, (tried, won) in tries.items():
            scorekeeping.add_tries(services, club, match, {"tactic": tactic, "tried": tried, "won": won})
        matches.end(services, club, match)
        return [one.tactic for one in debrief(services, club, match).begin_with]

    untouched = begun({})
    assert len(untouched) == 3
    little = {FIRST: (12, 8), SECOND: (12, 11), untouched[1]: (2, 2), untouched[0]: (20, 2)}
    assert begun(little) == [SECOND, FIRST, untouched[1]]


def test_the_story_has_the_figures_that_live_advice_had(services, club, played):
    worth = []
    for winner in ("own", "own", "opponent", "own", "opponent", "own"):
        scorekeeping.add_points(services, club, played.match, {"winner": winner})
        live = advising.live_advice(services, club, played.match, Moment.BETWEEN_POINTS).advice
        worth += re.findall(r"worth (\d\.\d\d) of the match", live.score or "")
    live_story, _ = score_story(services, club, played.match, None)
    scorekeeping.add_points(services, club, played.match, {"winner": "own"})
    matches.end(services, club, played.match)
    told = debrief(services, club, played.match)
    assert [f"{point.importance:.2f}" for point in told.story[1:]] == worth
    assert told.story[:-1] == live_story
