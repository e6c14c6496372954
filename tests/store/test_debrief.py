"""The debrief of a finished match, and the dossier of an opponent over several."""

from typing import Any

import pytest

from tacticapi.domain.terms import Moment
from tacticapi.scoring import Format, State
from tacticapi.service import Desk, Refused, advising, dossier, feedback, matches, observations, players, points, tries
from tacticapi.service.debrief import debrief
from tacticapi.service.figures import HALF_LIFE_DAYS

LOW_BALL = "make-serve-and-volleyer-volley-low"


@pytest.fixture
def finished(desk: Desk, club: str, played: Any, seen: list[dict[str, Any]], finish: Any) -> Any:
    """The demo match, won, with advice, feedback and tries."""
    points.add(desk, club, played.match, {"winner": "opponent", "own_error": True})
    observations.add_many(desk, club, played.match, seen[:26])
    live = advising.live_advice(desk, club, played.match, Moment.CHANGE_OF_ENDS)
    feedback.add(desk, club, live.id, live.advice.suggestions[0].tactic, kind="not-used", reason="too early")
    observations.add_many(desk, club, played.match, seen[26:])
    tries.add(desk, club, played.match, {"tactic": LOW_BALL, "tried": 10, "won": 7})
    finish(played.match)
    return played


def test_a_match_that_goes_on_is_not_debriefed(desk: Desk, club: str, played: Any) -> None:
    with pytest.raises(Refused, match="has ended"):
        debrief(desk, club, played.match)


def test_the_score_story_runs_from_the_first_point_to_the_last(desk: Desk, club: str, finished: Any) -> None:
    told = debrief(desk, club, finished.match)
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


def test_the_most_important_points_come_first(desk: Desk, club: str, finished: Any) -> None:
    told = debrief(desk, club, finished.match)
    worth = [point.importance for point in told.important]
    assert worth == sorted(worth, reverse=True)
    assert worth[0] == max(point.importance for point in told.story)


def test_what_was_suggested_tried_and_won_is_counted(desk: Desk, club: str, finished: Any) -> None:
    told = debrief(desk, club, finished.match)
    line = next(line for line in told.tactics if line.tactic == LOW_BALL)
    assert (line.suggested, line.first, line.not_used, line.reasons) == (1, 1, 1, ("too early",))
    assert (line.tries.won, line.tries.of, line.tries.share) == (7, 10, 0.7)
    assert line.tries.low is not None
    assert line.tries.high is not None
    assert 0.4 < line.tries.low < 0.7 < line.tries.high < 0.9
    assert line.worse is not None
    assert line.enough


def test_beliefs_are_told_at_start_and_end_with_the_surprises(desk: Desk, club: str, finished: Any) -> None:
    told = debrief(desk, club, finished.match)
    moves = {(one.trait, one.wing): one for one in told.beliefs}
    assert told.surprises
    assert all(moves[one.trait, one.wing] == one for one in told.surprises)
    sizes = [abs(one.move) for one in told.surprises]
    assert sizes == sorted(sizes, reverse=True)
    assert all(one.because for one in told.surprises)


def test_next_time_begins_with_what_pays(desk: Desk, club: str, finished: Any) -> None:
    told = debrief(desk, club, finished.match)
    assert 1 <= len(told.begin_with) <= 3
    assert all(one.because for one in told.begin_with)


def test_a_match_without_points_is_debriefed_too(desk: Desk, club: str, played: Any) -> None:
    matches.end(desk, club, played.match)
    told = debrief(desk, club, played.match)
    assert (told.story, told.score, told.tactics) == ((), None, ())


def test_the_dossier_has_dates_and_surfaces(desk: Desk, club: str, finished: Any, another_match: Any) -> None:
    other = another_match(context={"surface": "clay"})
    observations.add(desk, club, other.match, {"what": "warmup.low_forehand", "rating": 1})
    held = dossier.dossier(desk, club, finished.opponent, surface="hard")
    assert [(m.match_id, m.surface) for m in held.matches] == [(other.match, "clay"), (finished.match, "hard")]
    assert held.matches[0].weight < held.matches[1].weight
    assert held.beliefs
    without = dossier.dossier(desk, club, finished.opponent, without_match=other.match)
    assert [m.match_id for m in without.matches] == [finished.match]


def test_what_was_seen_long_ago_counts_less(desk: Desk, club: str, finished: Any, clock: Any) -> None:
    fresh = dossier.dossier(desk, club, finished.opponent)
    clock.forward(days=HALF_LIFE_DAYS)
    aged = dossier.dossier(desk, club, finished.opponent)
    assert aged.matches[0].weight == pytest.approx(fresh.matches[0].weight / 2, rel=1e-3)
    priors = {f"{t.id}/{wing}" if wing else t.id: t.prior for t in desk.rulebook.traits.values() for wing in t.wings}
    assert fresh.priors.keys() == aged.priors.keys()
    further = [name for name, p in fresh.priors.items() if abs(p - priors[name]) > 0.01]
    assert further
    for name in further:
        assert abs(aged.priors[name] - priors[name]) < abs(fresh.priors[name] - priors[name])
    clock.forward(days=100 * HALF_LIFE_DAYS)
    gone = dossier.dossier(desk, club, finished.opponent)
    for name, p in gone.priors.items():
        assert p == pytest.approx(priors[name], abs=1e-3)


def test_priors_leave_out_the_profile_which_the_next_situation_states_itself(
    desk: Desk, club: str, finished: Any
) -> None:
    before = dossier.dossier(desk, club, finished.opponent)
    facts = {**players.get(desk, club, finished.opponent).facts, "style_guess": "retriever"}
    players.update(desk, club, finished.opponent, 1, facts=facts)
    after = dossier.dossier(desk, club, finished.opponent)
    assert after.priors == pytest.approx(before.priors, rel=1e-6)
    assert after.beliefs != before.beliefs


def test_the_next_match_begins_with_what_earlier_ones_taught(
    desk: Desk, club: str, finished: Any, another_match: Any
) -> None:
    assert matches.get(desk, club, finished.match).priors == {}
    following = another_match()
    held = dossier.dossier(desk, club, finished.opponent, surface="hard", without_match=following.match)
    assert matches.get(desk, club, following.match).priors == pytest.approx(dict(held.priors), abs=1e-4)


def test_the_dossier_never_holds_conduct_or_delays(desk: Desk, club: str, played: Any) -> None:
    bodies = [
        {"what": "tempo.time_between_points", "amount": 40},
        {"what": "tempo.delay", "amount": 3},
        {"what": "conduct.disputed_calls", "amount": 4},
        {"what": "conduct.quick_serve", "amount": 2},
    ]
    kinds = desk.rulebook.kinds
    observations.add_in_bulk(desk, club, played.match, [body for body in bodies if body["what"] in kinds])
    held = str(dossier.dossier(desk, club, played.opponent))
    assert "delays_play" not in held
    assert "conduct" not in held


def test_an_own_player_has_no_dossier(desk: Desk, club: str, played: Any) -> None:
    with pytest.raises(Refused, match="an opponent"):
        dossier.dossier(desk, club, played.own)


def test_the_format_of_the_match_is_that_of_its_score(desk: Desk, club: str, finished: Any) -> None:
    told = debrief(desk, club, finished.match)
    assert told.score is not None
    fmt = Format.from_wire({"sets": 3, "final_set": "match-tie-break-10"})
    assert State(fmt, tuple(tuple(s) for s in told.score["sets"])).winner == "own"
