"""What the next observation could show, from new and after counts."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import exp, fsum
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import betabinom

from tacticapi.domain.reasoning import Predictive
from tacticapi.domain.rules import Rulebook, Term, TermForm
from tacticapi.domain.situation import Phase, Situation, Wing
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.likelihood import favourite_log_odds, share_log_odds
from tacticapi.evidence.next_observation import (
    NextObservation,
    NextObservations,
    beta_binomial,
    predict_hits,
    predict_spread,
    predict_spread_by_favourite,
    predictive,
    spreads,
    wing_to_watch,
)

GAMES = (Phase.GAMES,)
BASE = (0.35, 0.30, 0.35)
counts = st.integers(0, 12)


@pytest.fixture(scope="session")
def next_observations(rulebook: Rulebook, evidence: EvidenceModel) -> NextObservations:
    return NextObservations(rulebook, evidence, [(t.id, wing) for t in rulebook.traits.values() for wing in t.wings])


def test_every_look_of_the_rulebook_has_outcomes_that_sum_to_one(next_observations: NextObservations) -> None:
    predictives = [look.unseen for phases in ((Phase.WARM_UP,), GAMES) for look in next_observations.to_come(phases)]
    assert len(predictives) > 200
    for look in predictives:
        assert fsum(look.holds) == pytest.approx(1.0), look
        assert fsum(look.fails) == pytest.approx(1.0), look


@given(hits=counts, misses=counts)
def test_after_a_count_the_odds_of_the_next_outcome_are_those_of_the_longer_count(hits: int, misses: int) -> None:
    holds, fails = (beta_binomial(m * 12 + hits, (1 - m) * 12 + misses, 3) for m in (0.42, 0.15))
    for more, (with_trait, without) in enumerate(zip(holds, fails, strict=True)):
        longer = share_log_odds(hits + more, hits + misses + 3, 0.42, 0.15, 12)
        assert with_trait / without == pytest.approx(exp(longer - share_log_odds(hits, hits + misses, 0.42, 0.15, 12)))


@given(seen=st.tuples(counts, counts, counts))
def test_after_serves_the_odds_of_the_next_ones_are_those_of_the_longer_tally(seen: tuple[int, int, int]) -> None:
    holds, fails = predict_spread(0.57, 12.0, BASE, seen, 2)
    before = favourite_log_odds(seen, 0.57, 12.0, BASE)
    for (more, _), with_trait, without in zip(spreads(3, 2), holds, fails, strict=True):
        longer = favourite_log_odds([a + b for a, b in zip(seen, more, strict=True)], 0.57, 12.0, BASE)
        assert with_trait / without == pytest.approx(exp(longer - before))


def test_a_spread_over_two_options_is_a_share() -> None:
    assert predictive([(1.0, (4.0, 8.0))], 5) == pytest.approx(beta_binomial(4.0, 8.0, 5))


def unseen(next_observations: NextObservations) -> list[Predictive]:
    return [look.unseen for look in next_observations.to_come(GAMES)]


def seen(
    next_observations: NextObservations, evidence: EvidenceModel, asked: Situation
) -> dict[tuple[str, Wing | None], Predictive]:
    pools = evidence.believe(asked).pools
    looks = [look for look in next_observations.to_come(GAMES) if look.kind.id in pools]
    return {now.key: now for look in looks if (now := next_observations.now(look, pools))}


def test_a_count_of_the_kind_makes_more_of_the_same_more_likely(
    next_observations: NextObservations, evidence: EvidenceModel, situation: object
) -> None:
    posted = [{"what": "rally.ran_round_backhand", "count": 9, "of": 10}]
    again = seen(next_observations, evidence, situation(observations=posted))["hides_backhand", Wing.BACKHAND]  # type: ignore[operator]
    first = next(o for o in unseen(next_observations) if o.what == again.what and o.trait == "hides_backhand")
    assert again.holds[-1] > first.holds[-1]
    assert again.fails[-1] > first.fails[-1]


def test_the_wing_to_look_at_is_that_of_the_belief(next_observations: NextObservations) -> None:
    low = [o for o in unseen(next_observations) if o.what == "rally.against_low_ball" and o.trait == "weak_low_ball"]
    assert {(o.wing, o.on_wing) for o in low} == {(wing, wing) for wing in Wing}


def test_a_kind_that_was_rated_four_times_has_no_more_to_say(
    next_observations: NextObservations, evidence: EvidenceModel, situation: object
) -> None:
    rated = [{"what": "serve.second_serve_pace", "rating": 1}] * 4
    assert "soft_second_serve" not in {
        trait
        for trait, _ in seen(next_observations, evidence, situation(observations=rated))  # type: ignore[operator]
    }


def test_nobody_is_asked_to_look_at_health_or_at_themselves(
    rulebook: Rulebook, next_observations: NextObservations
) -> None:
    kinds = {
        o.what
        for phases in ((Phase.BEFORE,), (Phase.WARM_UP,), GAMES)
        for look in next_observations.to_come(phases)
        for o in [look.unseen]
    }
    assert not any(rulebook.kinds[kind].health for kind in kinds)
    assert not {kind.partition(".")[0] for kind in kinds} & {"own", "record", "plan", "context"}


# Counts make the next look tell less -------------------------------------------------------------------------------

share = st.floats(0.02, 0.98)
tallied = st.floats(0.0, 40.0)
ratio = st.floats(-3.0, 3.0).map(exp)


def of_outcomes(holds: tuple[float, ...], fails: tuple[float, ...]) -> Predictive:
    return Predictive("some.kind", "some_trait", None, None, holds, fails)


@given(shares=st.tuples(share, share), kappa=st.floats(1.0, 60.0), hits=tallied, misses=tallied, needed=ratio)
def test_after_counts_a_look_at_a_share_tells_no_more_than_a_first_look(
    shares: tuple[float, float], kappa: float, hits: float, misses: float, needed: float
) -> None:
    term = Term("some.kind", TermForm.SHARES, "strong", p_if_true=shares[0], p_if_false=shares[1], kappa=kappa)
    first, later = (of_outcomes(*predict_hits(term, (n * hits, n * (hits + misses)), 6)) for n in (0, 1))
    assert later.tells(needed) <= first.tells(needed) + 1e-9


@given(seen=st.tuples(tallied, tallied, tallied), needed=ratio)
def test_after_counts_a_look_at_spots_tells_no_more_than_if_the_favourite_had_been_known(
    seen: tuple[float, float, float], needed: float
) -> None:
    later = of_outcomes(*predict_spread(0.57, 12.0, BASE, seen, 4))
    most = max(of_outcomes(*known).tells(needed) for known in predict_spread_by_favourite(0.57, 12.0, BASE, 4))
    assert later.tells(needed) <= most + 1e-9


# Looking again --------------------------------------------------------------------------------------------------------


Write = Callable[..., Situation]
CHANCES = 6  # that a look in games brings: a model default
LOW = {"what": "rally.against_low_ball", "count": 2, "of": 6}


def look_at(
    next_observations: NextObservations, what: str, trait: str, wing: Wing | None, form: TermForm
) -> NextObservation:
    return next(
        look
        for look in next_observations.to_come(GAMES)
        if (look.kind.id, look.unseen.trait, look.unseen.wing, look.term.form) == (what, trait, wing, form)
    )


def after(
    next_observations: NextObservations, look: NextObservation, rulebook: Rulebook, asked: Situation
) -> Predictive | None:
    return next_observations.now(look, EvidenceModel(rulebook).believe(asked).pools)


def test_balls_to_the_other_wing_change_nothing(
    next_observations: NextObservations, rulebook: Rulebook, situation: Write
) -> None:
    look = look_at(next_observations, LOW["what"], "weak_low_ball", Wing.FOREHAND, TermForm.SHARES)
    assert (
        after(next_observations, look, rulebook, situation(observations=[{**LOW, "wing": "backhand"}])) == look.unseen
    )
    assert after(next_observations, look, rulebook, situation(observations=[])) == look.unseen


def test_balls_to_the_same_wing_are_counted_in(
    next_observations: NextObservations, rulebook: Rulebook, situation: Write
) -> None:
    look = look_at(next_observations, LOW["what"], "weak_low_ball", Wing.FOREHAND, TermForm.SHARES)
    again = after(next_observations, look, rulebook, situation(observations=[{**LOW, "wing": "forehand"}]))
    assert again is not None
    assert (again.what, again.key, again.on_wing) == (look.kind.id, ("weak_low_ball", Wing.FOREHAND), Wing.FOREHAND)
    assert_shares(again, look.term, hits=2, of=6)


def assert_shares(told: Predictive, term: Term, hits: float, of: float) -> None:
    for outcomes, share in ((told.holds, term.p_if_true), (told.fails, term.p_if_false)):
        a, b = share * term.kappa + hits, (1 - share) * term.kappa + of - hits
        assert outcomes == pytest.approx(betabinom.pmf(range(CHANCES + 1), CHANCES, a, b))


def test_of_a_split_only_the_options_that_speak_for_the_trait_are_hits(
    next_observations: NextObservations, rulebook: Rulebook, situation: Write
) -> None:
    """Lobs and slices both speak for a backhand that is only sliced."""
    look = look_at(next_observations, "passing.backhand_pass", "slice_backhand_only", Wing.BACKHAND, TermForm.SHARES)
    assert set(look.term.options) == {"slice", "lob"}
    seen = [{"what": "passing.backhand_pass", "counts": {"drive": 1, "slice": 3, "lob": 2}}]
    again = after(next_observations, look, rulebook, situation(observations=seen))
    assert again is not None
    assert_shares(again, look.term, hits=5, of=6)


def test_spots_seen_tell_which_is_the_favourite(
    next_observations: NextObservations, rulebook: Rulebook, situation: Write
) -> None:
    look = look_at(next_observations, "serve.deuce_court_spots", "serve_predictable", None, TermForm.FAVOURITE)
    assert len(look.again) == len(look.kind.options) == 3
    seen = [{"what": look.kind.id, "counts": {"wide": 5, "T": 1}}]
    again = after(next_observations, look, rulebook, situation(observations=seen))
    assert again is not None
    assert look.kind.options == ("wide", "body", "T")
    expected = predict_spread(look.term.p_if_true, look.term.kappa, look.term.base, (5.0, 0.0, 1.0), CHANCES)
    assert (again.holds, again.fails) == expected


@pytest.mark.parametrize(("ratings", "more"), [(1, True), (3, True), (4, False)])
def test_up_to_three_ratings_leave_a_fourth_to_say_as_much(
    *, next_observations: NextObservations, rulebook: Rulebook, situation: Write, ratings: int, more: bool
) -> None:
    look = look_at(next_observations, "serve.second_serve_pace", "soft_second_serve", None, TermForm.TABLE)
    assert [(o.holds, o.fails) for o in look.again] == [(look.unseen.holds, look.unseen.fails)]
    seen = [{"what": look.kind.id, "rating": 1}] * ratings
    again = after(next_observations, look, rulebook, situation(observations=seen))
    assert again == (look.unseen if more else None)


def test_what_was_seen_on_the_other_court_changes_nothing(
    next_observations: NextObservations, rulebook: Rulebook, situation: Write
) -> None:
    look = look_at(next_observations, LOW["what"], "weak_low_ball", Wing.FOREHAND, TermForm.SHARES)
    of_deuce = replace(look, term=replace(look.term, court="deuce"))
    for court, changed in (("ad", False), ("deuce", True)):
        asked = situation(observations=[{**LOW, "wing": "forehand", "court": court}])
        assert (after(next_observations, of_deuce, rulebook, asked) != look.unseen) is changed


def test_a_look_brings_four_chances_in_the_warm_up_and_six_in_games(next_observations: NextObservations) -> None:
    phases: Sequence[tuple[tuple[Phase, ...], int]] = [((Phase.WARM_UP, Phase.GAMES), 4), (GAMES, 6)]
    for to_come, chances in phases:
        looks = [look for look in next_observations.to_come(to_come) if to_come[0] in look.kind.phases]
        assert {look.chances for look in looks} == {chances}


def test_only_the_traits_that_are_wanted_are_looked_for(rulebook: Rulebook, evidence: EvidenceModel) -> None:
    wanted: list[Any] = [("weak_low_ball", Wing.FOREHAND), ("serve_predictable", None)]
    looks = NextObservations(rulebook, evidence, wanted).to_come(GAMES)
    assert {(look.unseen.trait, look.unseen.wing) for look in looks} == set(wanted)


def test_no_look_is_asked_to_compare_the_two_ends(next_observations: NextObservations) -> None:
    assert TermForm.ENDS not in {look.term.form for look in next_observations.to_come(GAMES)}


@pytest.mark.parametrize(
    ("reads", "of", "on"),
    [
        (None, Wing.FOREHAND, None),
        ("same", Wing.FOREHAND, Wing.FOREHAND),
        ("same", None, None),
        ("other", Wing.FOREHAND, Wing.BACKHAND),
        ("other", None, None),
        ("backhand", Wing.FOREHAND, Wing.BACKHAND),
        ("forehand", None, Wing.FOREHAND),
    ],
)
def test_on_which_wing_to_look(reads: str | None, of: Wing | None, on: Wing | None) -> None:
    assert wing_to_watch(Term("some.kind", TermForm.SHARES, "strong", wing=reads), of) == on
