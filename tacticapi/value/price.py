"""The expected gain of a tactic in points: share x (ability x P x gain - (1 - P) x loss), updated by tries.

Shares, gains and losses are model defaults of the rulebook; P is the probability that the tactic's traits hold.
"""

from collections.abc import Mapping, Sequence
from math import prod
from typing import Any

from tacticapi.domain.firing import Fact, Firing, Priced
from tacticapi.domain.situation import OwnErrors, Situation, Tries
from tacticapi.domain.tactic import Tactic, Touches
from tacticapi.value.baseline import Baseline


def price(firings: Sequence[Firing], situation: Situation, base: Baseline, defaults: Mapping[str, Any]) -> Priced:
    """Return the best priced of one tactic's firings (at least one); ties go to the first alternative."""
    priced = [_price(firing, situation, base, defaults) for firing in firings]
    return max(priced, key=lambda p: (round(p.point, 6), -p.firing.alternative, p.family))


def _price(firing: Firing, situation: Situation, base: Baseline, defaults: Mapping[str, Any]) -> Priced:
    tactic = firing.tactic
    effect = tactic.effect
    beliefs = firing.beliefs
    chance = _chance(beliefs, effect.cause, situation.own_errors, defaults["causes"])
    scale = tactic.when[firing.alternative].scale
    up = scale * ability(tactic, situation.own, defaults["ability"]) * effect.gain
    down = -scale * effect.loss
    expected = chance * up + (1.0 - chance) * down
    tries = next((t for t in situation.tries if t.tactic == tactic.id), None)
    shift = learned(expected, base.of(effect.on).mean, tries, float(defaults["tactic_points"])) if tries else 0.0
    touched = effect.share * (expected + shift)
    serve = touched if effect.on is not Touches.RETURN else 0.0
    return_ = touched if effect.on is not Touches.SERVE else 0.0
    return Priced(
        firing=firing,
        chance=chance,
        expected=expected,
        point=(serve + return_) / 2,
        serve=serve,
        return_=return_,
        up=up + shift,
        down=down + shift,
        family=tactic.family or _family(beliefs, tactic),
    )


def _chance(beliefs: Sequence[Fact], cause: str, errors: OwnErrors | None, by_cause: Mapping[str, float]) -> float:
    """The chance that a firing is right: that its traits hold, or what the cause of one without traits says."""
    if beliefs:
        return prod(int(fact.fields["permille"]) for fact in beliefs) / 1000.0 ** len(beliefs)
    if cause == "own-errors":
        # one pseudo-error on each side keeps a short count from counting as certain
        return (errors.unforced + 1) / (errors.of + 2) if errors else 0.5
    return float(by_cause[cause])


def ability(tactic: Tactic, own: Mapping[str, Any], by_rating: Sequence[float]) -> float:
    """How much of the gain the user's own strokes bring home: by the weakest gate; 1 for a tactic without gates.

    A gate of several strokes counts by the best of them. An unrated stroke counts as a rating of 0.
    """
    weakest = None
    for gate in tactic.needs:
        best = max([own.get(key) or 0 for key in gate.keys])
        weakest = best if weakest is None else min(weakest, best)
    return 1.0 if weakest is None else by_rating[min(4, max(0, round(weakest)))]


def learned(expected: float, mean: float, tries: Tries, worth: float) -> float:
    """What tries add to the gain a touched point; before them the tactic's own mean counts as `worth` tries."""
    if not tries.tried:
        return 0.0
    own_mean = min(1.0, max(0.0, mean + expected))
    return (worth * own_mean + tries.won) / (worth + tries.tried) - own_mean


def _family(beliefs: Sequence[Fact], tactic: Tactic) -> str:
    return f"{beliefs[0].name}:{beliefs[0].fields.get('wing', '')}" if beliefs else tactic.id
