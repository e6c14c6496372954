"""The dossier of an opponent over several matches, and where the next match begins."""

from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.club import NotFound, Refused, Services, advising, entries, matches, players, scorekeeping
from tacticapi.club.advising import SAME
from tacticapi.club.dossier import CLOSED, EARLIER_MATCHES, SituationWithPriors, begun, dossier, taught, told_apart
from tacticapi.domain.situation import Earlier, Moment, Situation

from .asked import given_again

FORBIDS = {"surface": "clay", "coaching": "not-permitted", "device": "coach"}


@pytest.fixture
def finished(
    services: Services, club: str, played: Any, seen: list[dict[str, Any]], finish: Callable[[str], None]
) -> Any:
    """The demo match on hard, seen and won."""
    entries.add_observations(services, club, played.match, seen)
    finish(played.match)
    return played


def general(services: Services) -> dict[str, float]:
    """What is believed of anyone, by belief name."""
    traits = services.rulebook.traits.values()
    return {f"{t.id}/{wing}" if wing else t.id: t.prior for t in traits for wing in t.wings}


def test_it_has_dates_and_surfaces(services: Services, club: str, finished: Any, another_match: Any) -> None:
    other = another_match(context={"surface": "clay"})
    entries.add_observation(services, club, other.match, {"what": "warmup.low_forehand", "rating": 1})
    matches.end(services, club, other.match)
    held = dossier(services, club, finished.opponent, surface="hard")
    assert [(m.match_id, m.surface) for m in held.matches] == [(other.match, "clay"), (finished.match, "hard")]
    assert held.matches[0].weight < held.matches[1].weight
    assert held.beliefs
    day = f"{matches.get(services, club, finished.match).started_at:%Y-%m-%d}: "
    assert any(text.startswith(day) for belief in held.beliefs for text in belief.because)


def test_a_match_that_goes_on_is_no_part_of_it_and_is_named(
    services: Services, club: str, finished: Any, another_match: Any
) -> None:
    before = dossier(services, club, finished.opponent)
    going = [another_match().match, another_match().match]
    entries.add_observation(services, club, going[0], {"what": "warmup.low_forehand", "rating": 0})
    held = dossier(services, club, finished.opponent)
    assert sorted(held.playing) == sorted(going)
    assert held.matches[0].match_id == before.matches[0].match_id
    assert [(b.trait, b.wing) for b in held.beliefs] == [(b.trait, b.wing) for b in before.beliefs]
    assert (
        taught(services, club, finished.opponent).earlier
        == taught(services, club, finished.opponent, reads=False).earlier
    )


def test_while_a_match_goes_on_whose_event_forbids_it_nothing_is_told(
    services: Services, club: str, finished: Any, another_match: Any
) -> None:
    going = another_match(context=FORBIDS).match
    assert dossier(services, club, finished.opponent).beliefs  # before its first point no rule of the event binds
    scorekeeping.add_point(services, club, going, {"winner": "own"})
    held = dossier(services, club, finished.opponent)
    assert held.withheld is not None
    assert (held.matches, held.beliefs, held.playing) == ((), (), (going,))
    known = taught(services, club, finished.opponent)
    assert (known.priors, known.earlier, known.withheld) == ({}, (), held.withheld)
    asked = Situation(Moment.BEFORE_MATCH, opponent_id=finished.opponent)
    assert begun(services, club, asked).notice == CLOSED
    matches.end(services, club, going)
    assert dossier(services, club, finished.opponent).withheld is None


def test_what_was_seen_long_ago_counts_less(services: Services, club: str, finished: Any, clock: Any) -> None:
    half_life = services.rulebook.defaults["dossier"]["half_life_days"]
    fresh, fresh_held = taught(services, club, finished.opponent), dossier(services, club, finished.opponent)
    clock.forward(days=half_life)
    aged, aged_held = taught(services, club, finished.opponent), dossier(services, club, finished.opponent)
    assert aged_held.matches[0].weight == pytest.approx(fresh_held.matches[0].weight / 2, rel=1e-3)
    priors = general(services)
    assert fresh.priors.keys() == aged.priors.keys()
    further = [name for name, p in fresh.priors.items() if abs(p - priors[name]) > 0.01]
    assert further
    for name in further:
        assert abs(aged.priors[name] - priors[name]) < abs(fresh.priors[name] - priors[name])
    clock.forward(days=100 * half_life)
    for name, p in taught(services, club, finished.opponent).priors.items():
        assert p == pytest.approx(priors[name], abs=1e-3)


def test_priors_leave_out_the_profile_which_the_next_situation_states_itself(
    services: Services, club: str, finished: Any
) -> None:
    before, held = taught(services, club, finished.opponent), dossier(services, club, finished.opponent)
    facts = {**players.get(services, club, finished.opponent).facts, "style_guess": "retriever"}
    players.update(services, club, finished.opponent, 1, facts=facts)
    assert taught(services, club, finished.opponent).priors == pytest.approx(before.priors, rel=1e-6)
    assert dossier(services, club, finished.opponent).beliefs != held.beliefs


def test_it_never_holds_conduct_or_delays(services: Services, club: str, played: Any) -> None:
    bodies = [
        {"what": "tempo.time_between_points", "amount": 40},
        {"what": "tempo.delay", "amount": 3},
        {"what": "conduct.disputed_calls", "amount": 4},
        {"what": "conduct.quick_serve", "amount": 2},
    ]
    kinds = services.rulebook.kinds
    kept = [body for body in bodies if body["what"] in kinds]
    assert len(kept) >= 2
    entries.add_observations(services, club, played.match, kept)
    matches.end(services, club, played.match)
    held = str((dossier(services, club, played.opponent), taught(services, club, played.opponent)))
    assert "delays_play" not in held
    assert "conduct" not in held


def test_an_own_player_has_none(services: Services, club: str, played: Any) -> None:
    with pytest.raises(Refused, match="an opponent"):
        dossier(services, club, played.own)


def test_the_next_match_begins_with_what_earlier_ones_taught(
    services: Services, club: str, finished: Any, another_match: Any
) -> None:
    first = matches.get(services, club, finished.match)
    assert (first.priors, first.earlier) == ({}, [])
    known = taught(services, club, finished.opponent, surface="hard")
    following = matches.get(services, club, another_match().match)
    assert following.priors == pytest.approx(dict(known.priors), abs=1e-4)
    assert following.earlier == [{"day": first.started_at.date().isoformat(), "surface": "hard"}]


def test_what_rests_on_earlier_matches_says_so_with_their_days(
    services: Services, club: str, finished: Any, another_match: Any
) -> None:
    day = matches.get(services, club, finished.match).started_at.date().isoformat()
    following = another_match().match
    advice = advising.live_advice(services, club, following, Moment.BEFORE_MATCH).advice
    assert f"({day} on hard)" in advice.notice[0]
    told = {(b.trait, b.wing): c for b in advice.beliefs for c in b.contributions if c.what == EARLIER_MATCHES}
    assert told
    priors = general(services)
    for belief in advice.beliefs:
        name = f"{belief.trait}/{belief.wing}" if belief.wing else belief.trait
        if (belief.trait, belief.wing) in told:
            part = told[belief.trait, belief.wing]
            assert day in part.text
            assert (part.log_odds > 0) == (belief.probability > priors[name])
            assert belief.prior == priors[name]
    for shown in advice.suggestions:
        said = [reason for reason in shown.because if reason.what == EARLIER_MATCHES]
        speaking = [r for r in shown.rests_on if (r.trait, r.wing) in told and told[r.trait, r.wing].log_odds > 0]
        assert {(reason.trait, reason.wing) for reason in said} == {(rest.trait, rest.wing) for rest in speaking}
        assert all(day in reason.text for reason in said)
    assert any(reason.what == EARLIER_MATCHES for shown in advice.suggestions for reason in shown.because)
    live = advising.live_advice(services, club, following, Moment.BEFORE_MATCH)
    assert given_again(services, club, live.id).sort == SAME


def test_an_opponent_whom_the_club_does_not_have_is_refused_alike(
    services: Services, club: str, other_club: str, finished: Any
) -> None:
    told = set()
    for club_id, id in ((other_club, finished.opponent), (club, finished.own), (club, "nobody")):
        with pytest.raises(Refused) as refused:
            begun(services, club_id, Situation(Moment.BEFORE_MATCH, opponent_id=id))
        told.add((refused.value.faults[0].path, refused.value.faults[0].expected))
    assert told == {(("opponent_id",), "the id of an opponent of your club")}


def test_without_earlier_matches_nothing_is_said_of_them(services: Services, club: str, played: Any) -> None:
    asked = Situation(Moment.BEFORE_MATCH, opponent_id=played.opponent)
    start = begun(services, club, asked)
    assert (start.asked.priors, start.asked.earlier, start.notice) == ({}, (), None)
    advice = services.adviser.recommend(start.asked)
    assert told_apart(advice, start.asked, services.rulebook) is advice


def test_a_match_that_moved_no_belief_is_not_told_of(services: Services, club: str, played: Any) -> None:
    entries.add_observation(services, club, played.match, {"what": "warmup.energy", "value": "normal"})
    matches.end(services, club, played.match)
    start = begun(services, club, Situation(Moment.BEFORE_MATCH, opponent_id=played.opponent))
    assert [one.surface for one in start.asked.earlier] == ["hard"]
    advice = services.adviser.recommend(start.asked)
    assert advice.beliefs
    assert told_apart(advice, start.asked, services.rulebook) is advice


def test_a_situation_that_names_nobody_begins_as_it_was_posted(services: Services, club: str) -> None:
    asked = Situation(Moment.BEFORE_MATCH)
    assert begun(services, club, asked) == SituationWithPriors(asked, notice=None)


def test_a_match_made_by_hand_of_many_days_names_a_few() -> None:
    from datetime import date

    from tacticapi.club.dossier import days_of

    days = tuple(Earlier(date(2026, 5, day), "grass" if day == 6 else None) for day in range(6, 0, -1))
    assert days_of(days) == "2026-05-06 on grass, 2026-05-05, 2026-05-04, 2026-05-03 and 2 more"


def test_another_club_s_dossier_is_not_found(services: Services, other_club: str, finished: Any) -> None:
    with pytest.raises(NotFound):
        dossier(services, other_club, finished.opponent)


def test_what_seemed_certain_in_one_match_can_still_be_weighed(
    services: Services, club: str, another_match: Any
) -> None:
    certain = [
        {"what": kind.id, **said}
        for kind in services.rulebook.kinds.values()
        if kind.subject not in ("context", "own", "opponent")
        for said in ({"count": 10_000, "of": 10_000} if "count" in kind.ways else {"rating": 4},)
        if {"count", "rating"} & set(kind.ways)
    ]
    for bodies in (certain, [{**one, **({"count": 0} if "count" in one else {"rating": 0})} for one in certain]):
        for _ in range(3):
            match = another_match()
            entries.add_observations(services, club, match.match, [body for body in bodies for _ in range(2)])
            matches.end(services, club, match.match)
            assert dossier(services, club, match.opponent).beliefs
            priors = taught(services, club, match.opponent).priors
            assert all(0 < p < 1 for p in priors.values())
