"""Live advice on a kept match: from everything kept, kept itself, and the same again when replayed."""

from typing import Any

import pytest

from tacticapi.advice import Adviser
from tacticapi.club import NotFound, Refused, Services, advising, entries, matches, scorekeeping
from tacticapi.club.advising import SAME
from tacticapi.domain.situation import Moment

from .asked import given_again, situation_of

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


def test_the_situation_is_everything_that_is_kept(services: Services, club: str, under_way: Any) -> None:
    now = situation_of(services, club, under_way.match, NOW)
    assert len(now.observations) == 26
    assert now.own["volley"] == 1
    assert now.opponent["handedness"] == "left"
    assert now.context["format"] == {"sets": 3, "final_set": "match-tie-break-10"}
    assert now.score == {"sets": [], "games": [1, 0], "points": ["0", "15"], "server": "opponent"}
    assert now.points_played is not None
    assert (now.points_played.serve_won, now.points_played.serve_of) == (4, 5)
    assert (now.points_played.return_won, now.points_played.return_of) == (0, 1)
    assert now.own_errors is not None
    assert (now.own_errors.unforced, now.own_errors.of) == (1, 1)
    assert [(t.tried, t.won) for t in now.tries] == [(4, 2)]
    assert now.previous is None


def test_facts_of_the_match_stand_above_those_of_the_player(services: Services, club: str, played: Any) -> None:
    matches.update(services, club, played.match, 1, own_facts={"volley": 4, "pain_now": 2})
    now = situation_of(services, club, played.match, NOW)
    assert (now.own["volley"], now.own["pain_now"], now.own["speed"]) == (4, 2, 3)


def test_wind_and_heat_given_in_full_are_read(services: Services, club: str, played: Any) -> None:
    wind = {"strength": "strong", "direction": {"north": "with", "south": None}}
    matches.update(services, club, played.match, 1, context={"wind": wind, "heat": {"air_c": 33, "wbgt": None}})
    now = situation_of(services, club, played.match, NOW)
    assert now.context == {"wind": "strong", "wind_direction": {"north": "with"}, "heat_air_c": 33}


def test_advice_is_that_of_the_situation_and_is_kept(
    services: Services, club: str, adviser: Adviser, under_way: Any
) -> None:
    live = advising.live_advice(services, club, under_way.match, NOW)
    assert live.advice.suggestions
    assert advising.given_advice(services, club, live.id).advice == live.advice
    assert live.revision == matches.revision(services, club, under_way.match)
    again = given_again(services, club, live.id)
    assert (again.sort, again.told) == (SAME, ())
    with services.reading(club) as work:
        kept = work.snapshots.get(live.id)
    assert kept is not None
    assert any(rule.startswith("tactic/") for rule in kept.fired)


def test_the_next_advice_knows_the_one_before(services: Services, club: str, under_way: Any) -> None:
    live = advising.live_advice(services, club, under_way.match, NOW)
    previous = situation_of(services, club, under_way.match, NOW).previous
    assert previous is not None
    assert (previous.advice_id, previous.first) == (live.id, live.advice.suggestions[0].tactic)
    belief = live.advice.beliefs[0]
    name = f"{belief.trait}/{belief.wing}" if belief.wing else belief.trait
    assert previous.beliefs[name] == belief.probability


def test_while_nothing_changes_the_rules_do_not_run_again(
    services: Services, club: str, under_way: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = advising.live_advice(services, club, under_way.match, NOW)
    with monkeypatch.context() as patched:
        patched.setattr(Adviser, "trace", None)
        assert advising.live_advice(services, club, under_way.match, NOW) == first
    shorter = advising.live_advice(services, club, under_way.match, NOW, limit=1)
    assert (shorter.id != first.id, len(shorter.advice.suggestions)) == (True, 1)
    scorekeeping.add_point(services, club, under_way.match, {"winner": "own"})
    assert advising.live_advice(services, club, under_way.match, NOW).id not in (first.id, shorter.id)


def test_a_moment_on_which_permissions_do_not_bind_cannot_be_claimed_in_between(
    services: Services, club: str, played: Any, finish: Any
) -> None:
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


def test_where_a_device_is_not_permitted_safety_and_notice_stand_alone(
    services: Services, club: str, under_way: Any
) -> None:
    context = matches.get(services, club, under_way.match).context
    matches.update(services, club, under_way.match, 1, context={**context, "device": "nobody"})
    advice = advising.live_advice(services, club, under_way.match, NOW).advice
    assert (advice.suggestions, advice.beliefs, advice.plan) == ((), (), None)
    assert advice.notice


def test_feedback_is_on_what_was_suggested(services: Services, club: str, under_way: Any) -> None:
    live = advising.live_advice(services, club, under_way.match, NOW)
    shown = live.advice.suggestions[0].tactic
    given = [
        advising.add_feedback(services, club, live.id, shown, kind="used"),
        advising.add_feedback(services, club, live.id, shown, kind="not-used", reason="too windy"),
        advising.add_feedback(services, club, live.id, shown, kind="outcome", reason="helped"),
    ]
    assert advising.feedback_page(services, club, under_way.match, after=None, limit=100) == given
    for wrong in (
        {"kind": "liked"},
        {"kind": "not-used"},
        {"kind": "outcome", "reason": "great"},
        {"kind": "used", "reason": "because"},
    ):
        with pytest.raises(Refused):
            advising.add_feedback(services, club, live.id, shown, **wrong)
    with pytest.raises(Refused, match="suggested"):
        advising.add_feedback(services, club, live.id, "pain-is-a-stop-sign", kind="used")


def test_advice_of_another_club_is_not_found(services: Services, club: str, other_club: str, under_way: Any) -> None:
    live = advising.live_advice(services, club, under_way.match, NOW)
    for ask in (
        lambda: advising.given_advice(services, other_club, live.id),
        lambda: advising.live_advice(services, other_club, under_way.match, NOW),
        lambda: advising.add_feedback(services, other_club, live.id, live.advice.suggestions[0].tactic, kind="used"),
    ):
        with pytest.raises(NotFound):
            ask()
