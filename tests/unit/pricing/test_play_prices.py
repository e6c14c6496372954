"""All ways of playing priced at once are each priced as alone."""

from collections.abc import Callable
from math import prod
from random import Random
from typing import Any

import pytest

from tacticapi.advice.looks import Plays
from tacticapi.domain.look import Play
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.pricing.baseline import Baseline, baseline
from tacticapi.pricing.match_gain import MatchPricer
from tacticapi.pricing.price import PlayPrices, ability, constant, learned
from tacticapi.scoring import Format, read_score

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
    shift = learned(expected, base.of(effect.on).mean, tries, defaults["tactic_points"]) if tries else 0.0
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
        curve = pricer.curves()[plays[place].tactic.effect.on]
        expected = [
            sum(c * shift**power for power, c in enumerate(curve))
            for shift in alone(plays[place], asked, at, base, defaults)
        ]
        assert [holds, fails] == pytest.approx(expected, abs=1e-12)
