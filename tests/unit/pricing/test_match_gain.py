"""What a gain in points is worth in match chance: against direct quadrature, simulation, and common sense."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.polynomial.legendre import leggauss
from scipy.stats import beta as beta_law

from tacticapi.domain.reasoning import Firing, Priced
from tacticapi.domain.rules import Effect, Rulebook, Touches
from tacticapi.domain.situation import Moment, Situation
from tacticapi.pricing.baseline import Baseline, Beta, baseline
from tacticapi.pricing.match_gain import MatchPricer, _percentiles
from tacticapi.pricing.price import price
from tacticapi.scoring.formats import Format
from tacticapi.scoring.match import MatchModel
from tacticapi.scoring.score import State, after

Fire = Callable[..., Firing]
FORMATS = (
    Format(),
    Format(sets=5),
    Format(games=4, no_ad=True),
    Format.from_wire({"sets": 3, "final_set": "match-tie-break-10"}),
    Format.from_wire({"sets": 3, "set": "advantage"}),
)
LEVEL = Baseline(Beta(11.6, 8.4), Beta(8.4, 11.6))
START = State(Format(), server="own")


@pytest.fixture(scope="session")
def priced(fire: Fire, rulebook: Rulebook) -> Callable[..., Priced]:
    def make(effect: Effect, belief: int = 650) -> Priced:
        asked = Situation(Moment.CHANGE_OF_ENDS)
        return price([fire(effect, beliefs=[belief])], asked, baseline(asked, rulebook.defaults), rulebook.defaults, {})

    return make


Price = Callable[..., Priced]


@st.composite
def scores(draw: st.DrawFn) -> State:
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
effects = st.builds(
    Effect, st.sampled_from(Touches), share=st.floats(0.05, 1.0), gain=st.floats(0.0, 0.05), loss=st.floats(0.0, 0.05)
)


def direct(state: State, base: Baseline, serve: float, return_: float, nodes: int = 80) -> float:
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


def direct_gain(state: State, base: Baseline, priced: Priced) -> float:
    effect = priced.firing.tactic.effect
    on_serve, on_return = effect.applies_to is not Touches.RETURN, effect.applies_to is not Touches.SERVE

    def shifted(step: float) -> float:
        return direct(state, base, effect.share * step * on_serve, effect.share * step * on_return)

    now = direct(state, base, 0.0, 0.0)
    return priced.chance * shifted(priced.up) + (1 - priced.chance) * shifted(priced.down) - now


@settings(max_examples=12)
@given(state=scores(), serve=betas, return_=betas, effect=effects, belief=st.integers(50, 950))
def test_the_mean_gain_is_that_of_direct_quadrature_to_one_in_a_hundred_thousand(
    *, priced: Price, state: State, serve: Beta, return_: Beta, effect: Effect, belief: int
) -> None:
    base, item = Baseline(serve, return_), priced(effect, belief)
    pricer = MatchPricer(state.format, state, base)
    assert pricer.means([item])[0] == pytest.approx(direct_gain(state, base, item), abs=1e-5)


@settings(max_examples=8)
@given(state=scores(), serve=betas, return_=betas, reach=st.floats(0.001, 0.018))
def test_many_gains_at_once_are_the_gains_one_by_one(
    priced: Price, state: State, serve: Beta, return_: Beta, reach: float
) -> None:
    pricer = MatchPricer(state.format, state, Baseline(serve, return_))
    shifts = reach * np.linspace(-1, 1, 5)
    for on, curve in pricer.curves().items():
        gains = np.polyval(curve[::-1], shifts)
        item = replace(priced(Effect(on, 1.0, 0.03, 0.0)), chance=1.0)
        assert gains == pytest.approx([pricer.means([replace(item, up=float(s))])[0] for s in shifts], abs=1e-5)


@settings(max_examples=25)
@given(state=scores(), effect=effects, one=st.integers(1, 999), other=st.integers(1, 999), more=st.floats(0, 0.03))
def test_a_firmer_belief_and_a_larger_effect_never_lower_the_match_gain(
    *, priced: Price, state: State, effect: Effect, one: int, other: int, more: float
) -> None:
    pricer = MatchPricer(state.format, state, LEVEL)
    low, high = (pricer.means([priced(effect, belief)])[0] for belief in sorted((one, other)))
    assert low <= high + 1e-9
    assert (
        pricer.means([priced(replace(effect, gain=effect.gain + more), one)])[0]
        >= pricer.means([priced(effect, one)])[0] - 1e-9
    )


@settings(max_examples=25)
@given(state=scores(), serve=betas, return_=betas, effect=effects, belief=st.integers(50, 950))
def test_the_interval_is_in_order_and_holds_no_impossible_gain(
    *, priced: Price, state: State, serve: Beta, return_: Beta, effect: Effect, belief: int
) -> None:
    base = Baseline(serve, return_)
    (gain,) = MatchPricer(state.format, state, base).gains([priced(effect, belief)])
    assert gain.low <= gain.high + 1e-12
    assert -1.0 <= gain.low <= gain.high + 1e-12 <= 1.0 + 1e-9
    now = direct(state, base, 0.0, 0.0)
    assert abs(gain.mean) <= max(now, 1 - now) + 1e-5


@pytest.mark.parametrize(("serve", "return_"), [((99, 1), (12, 8)), ((8, 12), (1, 99)), ((99, 1), (1, 99))])
def test_nobody_wins_more_than_every_point_or_fewer_than_none(
    priced: Price, serve: tuple[float, float], return_: tuple[float, float]
) -> None:
    """Posteriors close to certainty, moved by 0.05 either way."""
    base, item = Baseline(Beta(*serve), Beta(*return_)), priced(Effect(Touches.BOTH, 1.0, 0.05, 0.05), 500)
    fmt = Format(games=4, no_ad=True)
    for state in (State(fmt, server="own"), State(fmt, (), (3, 3), (3, 3), "own")):
        pricer = MatchPricer(fmt, state, base)
        assert pricer.means([item])[0] == pytest.approx(direct_gain(state, base, item), abs=2e-4)


def test_with_even_weights_the_percentiles_are_those_of_a_plain_sample() -> None:
    """numpy's "hazen" puts the k-th of n values at (k - 1/2) / n."""
    sample = np.random.default_rng(3).normal(size=(2, 12))
    plain = np.quantile(sample, (0.1, 0.9), axis=1, method="hazen").T
    assert np.array(_percentiles(sample, np.full((2, 12), 0.25))) == pytest.approx(plain)
    doubled = np.array([[3.0, 1.0, 2.0]]), np.array([[1.0, 2.0, 1.0]])  # at 7/8, 1/4 and 5/8
    assert _percentiles(*doubled) == [pytest.approx((1.0, 3.0))]


def test_eight_matches_of_ten_fall_into_the_interval(priced: Price) -> None:
    """Simulated: point chances from the posteriors, the traits by their chance, the win chance exactly."""
    draw = np.random.default_rng(7)
    item = priced(Effect(Touches.BOTH, 0.5, 0.03, 0.02), 650)
    (gain,) = MatchPricer(Format(), START, LEVEL).gains([item])
    serve, back = (draw.beta(b.a, b.b, 4000) for b in (LEVEL.serve, LEVEL.return_))
    step = 0.5 * np.where(draw.random(4000) < item.chance, item.up, item.down)
    without = np.asarray(MatchModel(Format(), serve, back).at(START).match.now)
    with_it = np.asarray(MatchModel(Format(), serve + step, back + step).at(START).match.now)
    low, high = np.quantile(with_it - without, (0.1, 0.9))
    assert gain.low == pytest.approx(low, abs=0.004)
    assert gain.high == pytest.approx(high, abs=0.004)
    assert gain.mean == pytest.approx(float((with_it - without).mean()), abs=0.002)
    assert gain.low < 0 < gain.mean < gain.high


def test_pricing_at_the_mean_point_chances_would_overprice(priced: Price) -> None:
    """After twenty points a side nobody knows who is better, so that one more point in a hundred decides less."""
    item = replace(priced(Effect(Touches.BOTH, 1.0, 0.01, 0.0)), chance=1.0)
    p, r = LEVEL.serve.mean, LEVEL.return_.mean
    model = MatchModel(Format(), np.array([p, p + 0.01]), np.array([r, r + 0.01]))
    without, with_it = np.asarray(model.at(START).match.now)
    honest = MatchPricer(Format(), START, LEVEL).means([item])[0]
    assert 1.5 < (with_it - without) / honest < 2.5


def test_the_same_gain_decides_more_when_more_is_known(priced: Price) -> None:
    item = priced(Effect(Touches.BOTH, 0.5, 0.03, 0.02), 800)
    sure = Baseline(Beta(116, 84), Beta(84, 116))
    assert MatchPricer(Format(), START, sure).means([item])[0] > MatchPricer(Format(), START, LEVEL).means([item])[0]


@given(state=scores(), many=st.lists(st.tuples(effects, st.integers(1, 999)), max_size=6))
@settings(max_examples=25)
def test_tactics_priced_together_are_each_worth_what_they_are_worth_alone(
    priced: Price, state: State, many: list[tuple[Effect, int]]
) -> None:
    pricer = MatchPricer(state.format, state, LEVEL)
    items = [priced(effect, belief) for effect, belief in many]
    together = pricer.gains(items)
    assert pricer.means(items) == pytest.approx([pricer.means([item])[0] for item in items], abs=1e-12)
    for gain, item in zip(together, items, strict=True):
        (alone,) = pricer.gains([item])
        assert (gain.mean, gain.low, gain.high) == pytest.approx((alone.mean, alone.low, alone.high), abs=1e-12)


@pytest.mark.parametrize("sets", [((6, 4), (6, 3)), ((4, 6), (3, 6))])
def test_a_match_that_is_over_cannot_be_won_any_more(priced: Price, sets: tuple[tuple[int, int], ...]) -> None:
    pricer = MatchPricer(Format(), State(Format(), sets), LEVEL)
    item = priced(Effect(Touches.BOTH, 1.0, 0.05, 0.01), 900)
    (gain,) = pricer.gains([item])
    assert (pricer.means([item])[0], gain.mean, gain.low, gain.high) == (0.0, 0.0, 0.0, 0.0)
    assert not any(pricer.curves()[Touches.BOTH])


def test_a_return_tactic_is_worth_little_when_serving_at_match_point_up(priced: Price) -> None:
    last = State(Format(), ((6, 4),), (5, 3), (3, 0), "own")
    pricer = MatchPricer(Format(), last, LEVEL)
    serve, back = (pricer.means([priced(Effect(on, 0.5, 0.03, 0.01))])[0] for on in (Touches.SERVE, Touches.RETURN))
    assert serve > back > 0


def test_importance_is_that_of_the_score() -> None:
    at_break_point, at_forty_love = (State(Format(), (), (4, 4), points, "own") for points in ((2, 3), (3, 0)))
    tight, loose = (MatchPricer(Format(), state, LEVEL) for state in (at_break_point, at_forty_love))
    assert 0 < loose.importance < 0.2
    assert 0.5 < tight.importance < 1
    assert 0 < loose.importance_in_match < tight.importance_in_match < 1
