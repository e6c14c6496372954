"""What a tactic gains a point: its share of the points, what it gains and loses, own ability, and what tries teach."""

from collections.abc import Callable
from dataclasses import replace
from math import prod
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.advice.looks import Plays
from tacticapi.domain.reasoning import Firing, Play, Priced
from tacticapi.domain.rules import Effect, Fitted, Gate, Rulebook, Touches
from tacticapi.domain.situation import Moment, OwnErrors, Situation, Tries, Wing
from tacticapi.pricing.baseline import Baseline, baseline
from tacticapi.pricing.match_gain import MatchPricer
from tacticapi.pricing.price import PlayPrices, ability, constant, learned, price
from tacticapi.scoring.formats import Format
from tacticapi.scoring.reading import read_score

Fire = Callable[..., Firing]
PLAIN = Situation(Moment.CHANGE_OF_ENDS)
ABILITY = (0.0, 0.5, 0.85, 1.0, 1.1)
permilles = st.integers(1, 999)
effects = st.builds(
    Effect,
    st.sampled_from(Touches),
    share=st.floats(0.01, 1.0),
    gain=st.floats(0.0, 0.06),
    loss=st.floats(0.0, 0.06),
)


@pytest.fixture(scope="session")
def priced(rulebook: Rulebook) -> Callable[..., Priced]:
    def priced_in(*firings: Firing, asked: Situation = PLAIN) -> Priced:
        return price(firings, asked, baseline(asked, rulebook.defaults), rulebook.defaults, {})

    return priced_in


Price = Callable[..., Priced]


def test_a_serve_tactic_gains_its_share_of_the_serve_points_and_half_of_that_over_all_points(
    fire: Fire, priced: Price, serve_effect: Effect
) -> None:
    told = priced(fire(serve_effect, beliefs=[650]))
    assert told.chance == pytest.approx(0.65)
    assert told.expected == pytest.approx(0.65 * 0.03 - 0.35 * 0.015)
    assert told.serve == pytest.approx(0.6 * (0.65 * 0.03 - 0.35 * 0.015))
    assert (told.return_, told.point) == (0.0, told.serve / 2)


def test_a_return_tactic_touches_no_serve_and_a_rally_tactic_touches_both(
    fire: Fire, priced: Price, serve_effect: Effect
) -> None:
    serve, back, both = (priced(fire(replace(serve_effect, applies_to=on), beliefs=[650])) for on in Touches)
    assert (back.serve, back.return_, back.point) == (0.0, serve.serve, serve.point)
    assert (both.serve, both.return_, both.point) == (serve.serve, serve.serve, serve.serve)


def test_a_tactic_that_rests_on_two_traits_needs_both(fire: Fire, priced: Price, serve_effect: Effect) -> None:
    assert priced(fire(serve_effect, beliefs=[800, 500])).chance == pytest.approx(0.4)


@pytest.mark.parametrize(
    ("cause", "errors", "chance"),
    [
        ("certain", None, 1.0),
        ("observed", None, 0.7),
        ("reminder", None, 0.6),
        ("own-errors", OwnErrors(10, 14), 11 / 16),
        ("own-errors", OwnErrors(0, 0), 0.5),
        ("own-errors", None, 0.5),
    ],
)
def test_without_a_trait_the_cause_says_how_sure_a_tactic_is(
    *, fire: Fire, priced: Price, serve_effect: Effect, cause: str, errors: OwnErrors | None, chance: float
) -> None:
    asked = replace(PLAIN, own_errors=errors)
    assert priced(fire(replace(serve_effect, cause=cause)), asked=asked).chance == pytest.approx(chance)


@pytest.mark.parametrize(("rating", "share"), [*enumerate(ABILITY), (None, 0.0)])
def test_own_ability_scales_the_gain_and_never_the_loss(
    fire: Fire, priced: Price, serve_effect: Effect, rating: int | None, share: float
) -> None:
    firing = fire(serve_effect, beliefs=[500], needs=[Gate(("volley",), 2)])
    told = priced(firing, asked=replace(PLAIN, own={"volley": rating}))
    assert (told.up, told.down) == (pytest.approx(share * 0.03), -0.015)


def test_of_several_gates_the_weakest_decides_and_within_a_gate_the_best_stroke(
    fire: Fire, priced: Price, serve_effect: Effect
) -> None:
    needs = [Gate(("volley", "drop_shot"), 2), Gate(("serve_placement",), 2)]
    own = {"volley": 1, "drop_shot": 4, "serve_placement": 2}
    told = priced(fire(serve_effect, beliefs=[500], needs=needs), asked=replace(PLAIN, own=own))
    assert told.up == pytest.approx(0.85 * 0.03)


def test_of_several_reasons_to_play_it_the_best_one_is_priced(fire: Fire, priced: Price, serve_effect: Effect) -> None:
    weak = fire(serve_effect, beliefs=[900], scales=[0.5, 1.0], alternative=0)
    strong = fire(serve_effect, beliefs=[900], scales=[0.5, 1.0], alternative=1)
    assert priced(weak, strong).firing is strong
    assert priced(strong, weak).firing is strong
    assert priced(weak).point == pytest.approx(priced(strong).point / 2)


def test_equal_reasons_are_told_by_the_first_of_the_rule(fire: Fire, priced: Price, serve_effect: Effect) -> None:
    first, second = (fire(serve_effect, beliefs=[700], scales=[1.0, 1.0], alternative=n) for n in (0, 1))
    assert priced(second, first).firing is first


def tried(won: int, of: int) -> Situation:
    return replace(PLAIN, tries=(Tries("some-tactic", of, won),))


def test_tries_update_the_gain_as_if_six_hundred_had_gone_before(
    fire: Fire, priced: Price, serve_effect: Effect
) -> None:
    firing = fire(serve_effect, beliefs=[650])
    before, after = priced(firing), priced(firing, asked=tried(5, 8))
    mean = 0.58 + before.expected
    shift = (600 * mean + 5) / 608 - mean
    assert after.point == pytest.approx((before.expected + shift) * 0.6 / 2)
    assert (after.up, after.down) == (pytest.approx(before.up + shift), pytest.approx(before.down + shift))
    assert after.expected == before.expected  # what the evidence says, before tries


def test_tries_of_another_tactic_and_none_at_all_teach_nothing(fire: Fire, priced: Price, serve_effect: Effect) -> None:
    firing = fire(serve_effect, beliefs=[650])
    other = replace(PLAIN, tries=(Tries("another-tactic", 8, 0),))
    assert priced(firing) == priced(firing, asked=other) == priced(firing, asked=tried(0, 0))


@given(of=st.integers(1, 40), data=st.data())
def test_one_more_point_won_by_it_raises_its_gain(fire: Fire, priced: Price, of: int, data: st.DataObject) -> None:
    won = data.draw(st.integers(0, of - 1))
    firing = fire(Effect(Touches.BOTH, 0.5, 0.02, 0.01), beliefs=[600])
    assert priced(firing, asked=tried(won, of)).point < priced(firing, asked=tried(won + 1, of)).point


@given(effect=effects, one=permilles, other=permilles, won=st.integers(0, 8), of=st.sampled_from((0, 8)))
def test_a_firmer_belief_never_lowers_the_gain(
    *, fire: Fire, priced: Price, effect: Effect, one: int, other: int, won: int, of: int
) -> None:
    asked = tried(min(won, of), of)
    low, high = (priced(fire(effect, beliefs=[p]), asked=asked).point for p in sorted((one, other)))
    assert low <= high + 1e-15


@given(effect=effects, belief=permilles, ratings=st.tuples(st.integers(0, 4), st.integers(0, 4)))
def test_a_better_stroke_never_lowers_the_gain(
    fire: Fire, priced: Price, effect: Effect, belief: int, ratings: tuple[int, int]
) -> None:
    firing = fire(effect, beliefs=[belief], needs=[Gate(("volley",), 0)])
    low, high = (priced(firing, asked=replace(PLAIN, own={"volley": r})).point for r in sorted(ratings))
    assert low <= high + 1e-15


@given(effect=effects, belief=permilles, more=st.floats(0, 0.05))
def test_a_larger_gain_never_lowers_and_a_larger_loss_never_raises_what_it_is_worth(
    fire: Fire, priced: Price, effect: Effect, belief: int, more: float
) -> None:
    def worth(**changes: Any) -> float:
        return priced(fire(replace(effect, **changes), beliefs=[belief])).point

    assert worth(gain=effect.gain + more) >= worth() >= worth(loss=effect.loss + more)


def test_tactics_on_one_belief_and_wing_are_one_family(fire: Fire, priced: Price, serve_effect: Effect) -> None:
    assert priced(fire(serve_effect, beliefs=[650])).family == "t0:"
    assert priced(fire(serve_effect)).family == "some-tactic"
    firing = fire(serve_effect, beliefs=[650])
    named = replace(firing, tactic=replace(firing.tactic, family="against-a-big-serve"))
    assert priced(named).family == "against-a-big-serve"


def test_a_family_is_of_one_wing(fire: Fire, priced: Price, serve_effect: Effect) -> None:
    firing = fire(serve_effect, beliefs=[650])
    (belief,) = firing.facts
    on_backhand = replace(belief, fields={**belief.fields, "wing": "backhand"})
    assert priced(replace(firing, facts=(on_backhand,))).family == "t0:backhand"


# Gains from simulation ----------------------------------------------------------------------------------------------

FITTED = Fitted(base=-0.01, open=0.012, beliefs={("t0", None): 0.03, ("else", None): -0.02}, strokes={"volley": 0.004})
SIMULATED = Effect(Touches.BOTH, 0.5, 0.02, 0.01, fitted={None: FITTED})


def simulated(fire: Fire, rulebook: Rulebook, belief: float, other: float, **own: int) -> Priced:
    asked = replace(PLAIN, own=own)
    firing = fire(SIMULATED, beliefs=[round(1000 * belief)])
    held = {("t0", None): belief, ("else", None): other}
    return price([firing], asked, baseline(asked, rulebook.defaults), rulebook.defaults, held)


def test_a_gain_from_simulation_adds_up_what_is_believed_and_owned(fire: Fire, rulebook: Rulebook) -> None:
    told = simulated(fire, rulebook, 0.6, 0.3, volley=4)
    assert told.simulated
    assert told.expected == pytest.approx(-0.01 + 0.6 * 0.03 - 0.3 * 0.02 + 2 * 0.004)
    assert told.point == pytest.approx(0.5 * told.expected)


def test_an_unrated_stroke_counts_as_middling(fire: Fire, rulebook: Rulebook) -> None:
    assert simulated(fire, rulebook, 0.6, 0.3).point == simulated(fire, rulebook, 0.6, 0.3, volley=2).point


@pytest.mark.parametrize(
    ("own", "opponent", "alike"),
    [("right", "right", True), ("left", "left", True), ("right", "left", False), ("left", "right", False),
     (None, "left", True), ("left", None, True), (None, None, True)],
)  # fmt: skip
def test_the_same_hand_may_pay_and_an_unknown_one_is_taken_for_it(
    fire: Fire, rulebook: Rulebook, own: str | None, opponent: str | None, alike: bool
) -> None:
    asked = replace(PLAIN, own={"handedness": own}, opponent={"handedness": opponent})
    effect = replace(SIMULATED, fitted={None: Fitted(base=0.01, open=0.0, same_handed=0.005)})
    told = price([replace(fire(effect), facts=())], asked, baseline(asked, rulebook.defaults), rulebook.defaults, {})
    assert told.expected == pytest.approx(0.015 if alike else 0.01)


@given(belief=st.floats(0.01, 0.99), other=st.floats(0.01, 0.99))
def test_a_gain_from_simulation_is_linear_in_each_belief(
    fire: Fire, rulebook: Rulebook, belief: float, other: float
) -> None:
    never, always = (simulated(fire, rulebook, p, other).expected for p in (0.0, 1.0))
    assert simulated(fire, rulebook, belief, other).expected == pytest.approx(never + belief * (always - never))


def test_what_a_simulation_leaves_open_is_as_likely_better_as_worse(fire: Fire, rulebook: Rulebook) -> None:
    told = simulated(fire, rulebook, 0.6, 0.3)
    spread = 1.2816 * (0.012**2 + 0.24 * 0.03**2 + 0.21 * 0.02**2) ** 0.5
    assert (told.odds, told.up - told.expected, told.expected - told.down) == pytest.approx((0.5, spread, spread))


@pytest.mark.parametrize(("wing", "known"), [("backhand", True), ("forehand", False)])
def test_a_simulation_knows_a_trait_by_its_wing(fire: Fire, rulebook: Rulebook, wing: str, known: bool) -> None:
    key = ("t0", Wing.BACKHAND)
    firing = fire(replace(SIMULATED, fitted={None: Fitted(base=0.01, open=0.0, beliefs={key: 0.02})}), beliefs=[650])
    (belief,) = firing.facts
    firing = replace(firing, facts=(replace(belief, fields={**belief.fields, "wing": wing}),))
    told = price([firing], PLAIN, baseline(PLAIN, rulebook.defaults), rulebook.defaults, {key: 0.5})
    assert told.simulated is known
    assert told.expected == pytest.approx(0.02 if known else 0.65 * 0.02 - 0.35 * 0.01)


def test_a_reason_that_the_simulation_does_not_know_is_priced_by_default(fire: Fire, priced: Price) -> None:
    effect = replace(SIMULATED, fitted={None: replace(FITTED, beliefs={("else", None): 0.03})})
    told = priced(fire(effect, beliefs=[650]))
    assert not told.simulated
    assert told.expected == pytest.approx(0.65 * 0.02 - 0.35 * 0.01)


# All ways of playing at once ------------------------------------------------------------------------------------------


Key = tuple[str, Any]
TRIED = "work-weaker-wing"


def alone(play: Play, situation: Situation, at: dict[Key, float], base: Baseline, defaults: Any) -> tuple[float, float]:
    """How far one play shifts the points that it touches, if its traits hold and if not, in so many words."""
    effect = play.tactic.effect
    scale = play.tactic.when[play.alternative].scale
    fitted = effect.aimed_at(next((wing for _, wing in play.rests_on if wing), None))
    chance = prod(at[key] for key in dict.fromkeys(play.rests_on))
    up = scale * ability(play.tactic, situation.own, defaults["ability"]) * effect.gain
    down = -scale * effect.loss
    if fitted and all(key in fitted.beliefs for key in play.rests_on):
        mean = constant(fitted, situation) + sum(part * at[key] for key, part in fitted.beliefs.items())
        between = sum(fitted.beliefs[key] for key in play.rests_on)
        up, down = mean + (1 - chance) * between, mean - chance * between
    expected = chance * up + (1 - chance) * down
    tries = next((t for t in situation.tries if t.tactic == play.tactic.id), None)
    shift = learned(expected, base.of(effect.applies_to).mean, tries, defaults["tactic_points"]) if tries else 0.0
    return effect.share * (up + shift), effect.share * (down + shift)


@pytest.mark.parametrize("seed", range(4))
def test_every_play_is_priced_as_if_it_were_the_only_one(
    rulebook: Rulebook, situation: Callable[..., Situation], seed: int
) -> None:
    dice = Random(seed)
    strokes = ("serve_placement", "slice_backhand", "second_serve_kick", "volley", "approach", "topspin_height", "lob")
    asked = situation(
        moment="change-of-ends",
        own={"handedness": "right", **{stroke: dice.randint(0, 4) for stroke in strokes[seed:]}},
        opponent={"handedness": dice.choice(("left", "right"))} if seed else {},
        tries=[{"tactic": TRIED, "tried": 9, "won": 6}] if seed else [],
    )
    plays = Plays(rulebook).all
    at = {(trait.id, wing): dice.uniform(0.05, 0.95) for trait in rulebook.traits.values() for wing in trait.wings}
    defaults = rulebook.defaults
    base = baseline(asked, defaults)
    fmt = Format.from_wire(None)
    pricer = MatchPricer(fmt, read_score(fmt, None), base)
    chosen = sorted(dice.sample(range(len(plays)), 60))
    gains = PlayPrices(plays, list(at)).gains(
        chosen, asked, list(at.values()), base=base, pricer=pricer, defaults=defaults
    )
    assert [place for place, _, _ in gains] == chosen
    for place, holds, fails in gains:
        curve = pricer.curves()[plays[place].tactic.effect.applies_to]
        expected = [
            sum(c * shift**power for power, c in enumerate(curve))
            for shift in alone(plays[place], asked, at, base, defaults)
        ]
        assert [holds, fails] == pytest.approx(expected, abs=1e-12)
