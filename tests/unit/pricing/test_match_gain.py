"""What a gain in points is worth in match chance: against direct quadrature, simulation, and common sense."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.polynomial.legendre import leggauss
from scipy.stats import beta as beta_law

from tacticapi.domain.rules import Touches
from tacticapi.pricing.baseline import Baseline, Beta
from tacticapi.pricing.match_gain import MatchPricer
from tacticapi.scoring.formats import Format
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.score import State, after

FORMATS = (
    Format(),
    Format(sets=5),
    Format(games=4, no_ad=True),
    Format.from_wire({"sets": 3, "final_set": "match-tie-break-10"}),
    Format.from_wire({"sets": 3, "set": "advantage"}),
)
LEVEL = Baseline(Beta(11.6, 8.4), Beta(8.4, 11.6))
START = State(Format(), server="own")


@st.composite
def scores(draw):
    """Any score short of the end that is reached by playing points."""
    fmt = draw(st.sampled_from(FORMATS))
    state = State(fmt, server="own")
    for own in draw(st.lists(st.booleans(), max_size=90)):
        following = after(state, "own" if own else "opponent")
        if following.winner is not None:
            break
        state = following
    return state


betas = st.builds(lambda mean, size: Beta(mean * size, (1 - mean) * size), st.floats(0.3, 0.75), st.floats(20, 200))
touches = st.sampled_from(Touches)
points = st.floats(-0.01, 0.01)


def direct(state, base, serve, return_, nodes=80):
    """Mean win chance by Gauss-Legendre over the middle of both densities: no grid, no interpolation."""
    at, mass = [], []
    for beta, shift in ((base.serve, serve), (base.return_, return_)):
        law = beta_law(beta.a, beta.b)
        low, high = law.ppf(1e-12), law.isf(1e-12)
        x, weights = leggauss(nodes)
        x = low + (x + 1) * (high - low) / 2
        density = weights * law.pdf(x)
        at.append(np.clip(x + shift, 0.0, 1.0))
        mass.append(density / density.sum())
    win = MatchModel(state.format, at[0][:, np.newaxis], at[1]).at(state).match.now
    return float(mass[0] @ np.broadcast_to(np.asarray(win), (nodes, nodes)) @ mass[1])


def direct_gain(state, base, on, point):
    """Win chance gained by `point` over all points, half of which are serve points and half return points."""
    serve = {Touches.SERVE: 2 * point, Touches.RETURN: 0.0, Touches.BOTH: point}[on]
    return_ = {Touches.SERVE: 0.0, Touches.RETURN: 2 * point, Touches.BOTH: point}[on]
    return direct(state, base, serve, return_) - direct(state, base, 0.0, 0.0)


@settings(max_examples=12)
@given(state=scores(), serve=betas, return_=betas, on=touches, point=points)
def test_the_mean_gain_is_that_of_direct_quadrature_to_one_in_a_hundred_thousand(
    priced, state, serve, return_, on, point
):
    base = Baseline(serve, return_)
    (gain,) = MatchPricer(state.format, state, base).gains([priced(on, point)])
    assert gain.mean == pytest.approx(direct_gain(state, base, on, point), abs=1e-5)


@settings(max_examples=12)
@given(state=scores(), serve=betas, return_=betas, on=touches)
def test_the_rate_of_a_gain_is_the_slope_of_direct_quadrature(state, serve, return_, on):
    base, step = Baseline(serve, return_), 1e-3
    slope = (direct_gain(state, base, on, step) - direct_gain(state, base, on, -step)) / (2 * step)
    assert MatchPricer(state.format, state, base).rates()[on] == pytest.approx(slope, rel=2e-3, abs=2e-4)


@settings(max_examples=25)
@given(state=scores(), on=touches, point=points)
def test_ranking_by_the_rate_tells_what_is_gained_to_three_in_a_hundred(priced, state, on, point):
    pricer = MatchPricer(state.format, state, LEVEL)
    (gain,) = pricer.gains([priced(on, point)])
    assert pricer.rates()[on] * point == pytest.approx(gain.mean, rel=0.03, abs=1e-5)


@settings(max_examples=25)
@given(state=scores(), on=touches, point=points, more=st.floats(0, 0.01), spread=st.floats(0, 0.02))
def test_a_larger_price_never_lowers_the_match_gain(priced, state, on, point, more, spread):
    both = [priced(on, gain, spread) for gain in (point, point + more)]
    low, high = MatchPricer(state.format, state, LEVEL).gains(both)
    assert low.mean <= high.mean + 1e-9


@settings(max_examples=25)
@given(state=scores(), serve=betas, return_=betas, on=touches, point=points, spread=st.floats(0, 0.03))
def test_the_interval_is_in_order_and_holds_no_impossible_gain(priced, state, serve, return_, on, point, spread):
    base = Baseline(serve, return_)
    (gain,) = MatchPricer(state.format, state, base).gains([priced(on, point, spread)])
    assert -1.0 <= gain.low <= gain.high + 1e-12 <= 1.0 + 1e-9
    now = direct(state, base, 0.0, 0.0)
    assert abs(gain.mean) <= max(now, 1 - now) + 1e-5


@pytest.mark.parametrize(("serve", "return_"), [((99, 1), (12, 8)), ((8, 12), (1, 99)), ((99, 1), (1, 99))])
def test_nobody_wins_more_than_every_point_or_fewer_than_none(priced, serve, return_):
    """Posteriors close to certainty, moved by 0.05 either way."""
    base = Baseline(Beta(*serve), Beta(*return_))
    fmt = Format(games=4, no_ad=True)
    for state in (State(fmt, server="own"), State(fmt, (), (3, 3), (3, 3), "own")):
        for point in (0.05, -0.05):
            (gain,) = MatchPricer(fmt, state, base).gains([priced(Touches.BOTH, point)])
            assert gain.mean == pytest.approx(direct_gain(state, base, Touches.BOTH, point), abs=2e-4)


def test_eight_matches_of_ten_fall_into_the_interval(priced):
    """Simulated: point chances from the posteriors, the gain from its price, the win chance exactly."""
    draw = np.random.default_rng(7)
    (gain,) = MatchPricer(Format(), START, LEVEL).gains([priced(Touches.BOTH, 0.006, 0.012)])
    serve, back = (draw.beta(b.a, b.b, 4000) for b in (LEVEL.serve, LEVEL.return_))
    step = draw.normal(0.006, 0.012, 4000)
    without = np.asarray(MatchModel(Format(), serve, back).at(START).match.now)
    with_it = np.asarray(MatchModel(Format(), serve + step, back + step).at(START).match.now)
    low, high = np.quantile(with_it - without, (0.1, 0.9))
    assert gain.low == pytest.approx(low, abs=0.006)
    assert gain.high == pytest.approx(high, abs=0.006)
    assert gain.mean == pytest.approx(float((with_it - without).mean()), abs=0.002)
    assert gain.low < 0 < gain.mean < gain.high


@settings(max_examples=25)
@given(state=scores(), many=st.lists(st.tuples(touches, points, st.floats(0, 0.02)), max_size=6))
def test_tactics_priced_together_are_each_worth_what_they_are_worth_alone(priced, state, many):
    pricer = MatchPricer(state.format, state, LEVEL)
    items = [priced(*one) for one in many]
    for gain, item in zip(pricer.gains(items), items, strict=True):
        (alone,) = pricer.gains([item])
        assert (gain.mean, gain.low, gain.high) == pytest.approx((alone.mean, alone.low, alone.high), abs=1e-12)


@pytest.mark.parametrize("sets", [((6, 4), (6, 3)), ((4, 6), (3, 6))])
def test_a_match_that_is_over_cannot_be_won_any_more(priced, sets):
    pricer = MatchPricer(Format(), State(Format(), sets), LEVEL)
    (gain,) = pricer.gains([priced(Touches.BOTH, 0.03, 0.01)])
    assert (gain.mean, gain.low, gain.high) == (0.0, 0.0, 0.0)
    assert set(pricer.rates().values()) == {0.0}


def test_importance_is_that_of_the_score_and_a_return_tactic_is_worth_little_when_serving_for_the_match():
    at_break_point, at_forty_love = (State(Format(), (), (4, 4), points, "own") for points in ((2, 3), (3, 0)))
    tight, loose = (MatchPricer(Format(), state, LEVEL) for state in (at_break_point, at_forty_love))
    assert 0 < loose.importance < 0.2
    assert 0.5 < tight.importance < 1
    assert 0 < loose.importance_in_match < tight.importance_in_match < 1
    rates = MatchPricer(Format(), State(Format(), ((6, 4),), (5, 3), (3, 0), "own"), LEVEL).rates()
    assert rates[Touches.SERVE] > rates[Touches.RETURN] > 0
