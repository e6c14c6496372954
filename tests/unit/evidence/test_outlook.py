"""What one more look may show, after what has been seen already."""

from math import exp, fsum

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.domain.look import Predictive
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Phase, Wing
from tacticapi.domain.trait import Term, TermForm
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.likelihood import favourite_log_odds, share_log_odds
from tacticapi.evidence.next_observation import (
    NextObservations,
    beta_binomial,
    predict_hits,
    predict_spread,
    predict_spread_by_favourite,
    predictive,
    spreads,
)

GAMES = (Phase.GAMES,)
BASE = (0.35, 0.30, 0.35)
counts = st.integers(0, 12)


@pytest.fixture(scope="session")
def prospects(rulebook: Rulebook, evidence: EvidenceModel) -> NextObservations:
    return NextObservations(rulebook, evidence, [(t.id, wing) for t in rulebook.traits.values() for wing in t.wings])


def test_every_look_of_the_rulebook_has_outcomes_that_sum_to_one(prospects: NextObservations) -> None:
    outlooks = [look.unseen for phases in ((Phase.WARM_UP,), GAMES) for look in prospects.to_come(phases)]
    assert len(outlooks) > 200
    for outlook in outlooks:
        assert fsum(outlook.holds) == pytest.approx(1.0), outlook
        assert fsum(outlook.fails) == pytest.approx(1.0), outlook


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


def unseen(prospects: NextObservations) -> list[Predictive]:
    return [look.unseen for look in prospects.to_come(GAMES)]


def seen(
    prospects: NextObservations, evidence: EvidenceModel, asked: Situation
) -> dict[tuple[str, Wing | None], Predictive]:
    pools = evidence.believe(asked).pools
    looks = [look for look in prospects.to_come(GAMES) if look.kind.id in pools]
    return {outlook.key: outlook for look in looks if (outlook := prospects.now(look, pools))}


def test_a_count_of_the_kind_makes_more_of_the_same_more_likely(
    prospects: NextObservations, evidence: EvidenceModel, situation: object
) -> None:
    posted = [{"what": "rally.ran_round_backhand", "count": 9, "of": 10}]
    again = seen(prospects, evidence, situation(observations=posted))["hides_backhand", Wing.BACKHAND]  # type: ignore[operator]
    first = next(o for o in unseen(prospects) if o.what == again.what and o.trait == "hides_backhand")
    assert again.holds[-1] > first.holds[-1]
    assert again.fails[-1] > first.fails[-1]


def test_the_wing_to_look_at_is_that_of_the_belief(prospects: NextObservations) -> None:
    low = [o for o in unseen(prospects) if o.what == "rally.against_low_ball" and o.trait == "weak_low_ball"]
    assert {(o.wing, o.on_wing) for o in low} == {(wing, wing) for wing in Wing}


def test_a_kind_that_was_rated_four_times_has_no_more_to_say(
    prospects: NextObservations, evidence: EvidenceModel, situation: object
) -> None:
    rated = [{"what": "serve.second_serve_pace", "rating": 1}] * 4
    assert "soft_second_serve" not in {
        trait
        for trait, _ in seen(prospects, evidence, situation(observations=rated))  # type: ignore[operator]
    }


def test_nobody_is_asked_to_look_at_health_or_at_themselves(rulebook: Rulebook, prospects: NextObservations) -> None:
    kinds = {
        o.what
        for phases in ((Phase.BEFORE,), (Phase.WARM_UP,), GAMES)
        for look in prospects.to_come(phases)
        for o in [look.unseen]
    }
    assert not any(rulebook.kinds[kind].health for kind in kinds)
    assert not {kind.partition(".")[0] for kind in kinds} & {"own", "record", "plan", "context"}


# Counts make the next look tell less -------------------------------------------------------------------------------

share = st.floats(0.02, 0.98)
tallied = st.floats(0.0, 40.0)
ratio = st.floats(-3.0, 3.0).map(exp)


def outlook(holds: tuple[float, ...], fails: tuple[float, ...]) -> Predictive:
    return Predictive("some.kind", "some_trait", None, None, holds, fails)


@given(shares=st.tuples(share, share), kappa=st.floats(1.0, 60.0), hits=tallied, misses=tallied, needed=ratio)
def test_after_counts_a_look_at_a_share_tells_no_more_than_a_first_look(
    shares: tuple[float, float], kappa: float, hits: float, misses: float, needed: float
) -> None:
    term = Term("some.kind", TermForm.SHARES, "strong", holds=shares[0], fails=shares[1], kappa=kappa)
    first, later = (outlook(*predict_hits(term, (n * hits, n * (hits + misses)), 6)) for n in (0, 1))
    assert later.tells(needed) <= first.tells(needed) + 1e-9


@given(seen=st.tuples(tallied, tallied, tallied), needed=ratio)
def test_after_counts_a_look_at_spots_tells_no_more_than_if_the_favourite_had_been_known(
    seen: tuple[float, float, float], needed: float
) -> None:
    later = outlook(*predict_spread(0.57, 12.0, BASE, seen, 4))
    most = max(outlook(*known).tells(needed) for known in predict_spread_by_favourite(0.57, 12.0, BASE, 4))
    assert later.tells(needed) <= most + 1e-9
