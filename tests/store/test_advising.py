"""Live advice on a kept match: from everything kept, kept itself, and the same again when replayed."""

from typing import Any

import pytest

from tacticapi.club import Refused, Services, advising, entries, matches, scorekeeping
from tacticapi.domain.situation import Moment

from .asked import situation_of

NOW = Moment.CHANGE_OF_ENDS


@pytest.fixture
def under_way(services: Services, club: str, played: Any, seen: list[dict[str, Any]]) -> Any:
    """The demo match after a game, with what was seen and tried."""
    entries.add_observations(services, club, played.match, seen[:26])
    for winner in ("own", "own", "opponent", "own"):
        scorekeeping.add_point(services, club, played.match, {"winner": winner})
    scorekeeping.add_point(services, club, played.match, {"winner": "own"})
    scorekeeping.add_point(services, club, played.match, {"winner": "opponent", "own_error": True})
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


def test_wind_and_heat_given_in_full_are_read(services, club, played):
    wind = {"strength": "strong", "direction": {"north": "with", "south": None}}
    matches.update(services, club, played.match, 1, context={"wind": wind, "heat": {"air_c": 33, "wbgt": None}})
    now = situation_of(services, club, played.match, NOW)
    assert now.context == {"wind": "strong", "wind_direction": {"north": "with"}, "heat_air_c": 33}


def test_a_moment_on_which_permissions_do_not_bind_cannot_be_claimed_in_between(services, club, played, finish):
    assert advising.live_advice(services, club, played.match, Moment.BEFORE_MATCH).advice.suggestions
    with pytest.raises(Refused, match="not over yet"):
        advising.live_advice(services, club, played.match, Moment.AFTER_MATCH)
    entries.add_observation(services, club, played.match, {"what": "warmup.low_forehand", "rating": 1})
    with pytest.raises(Refused, match="begun"):
        advising.live_advice(services, club, played.match, Moment.BEFORE_MATCH)
    finish(played.match)
    with pytest.raises(Refused, match="over"):
        advising.live_advice(services, club, played.match, Moment.BETWEEN_POINTS)
    assert advising.live_advice(services, club, played.match, Moment.AFTER_MATCH).advice.beliefs
