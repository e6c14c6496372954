"""The expected gain of a tactic in points, updated by tries.

By the rulebook's defaults: share x (ability x P x gain - (1 - P) x loss), P the probability that its traits hold.
Where the gain comes from simulation it is a sum over more beliefs and own strokes (`Fitted`): a tactic often pays for
what else is true of an opponent, and for a user who owns the stroke whoever stands there. Both are linear in beliefs.
"""

from collections.abc import Mapping, Sequence
from math import prod, sqrt
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from tacticapi.domain.firing import EITHER_WAY, Fact, Firing, Priced
from tacticapi.domain.situation import OwnErrors, Situation, Tries
from tacticapi.domain.tactic import FactKind, Fitted, Tactic, Touches, TraitKey
from tacticapi.domain.terms import Wing
from tacticapi.value.baseline import Baseline

MIDDLING: Final = 2  # the rating at which an own stroke adds nothing to a fitted gain
TENTH: Final = 1.2816  # standard deviations from the middle of a normal to its 10th and 90th percentile

Beliefs = Mapping[TraitKey, float]
NOTHING_BELIEVED: Final[Beliefs] = MappingProxyType({})


class _Outcomes(NamedTuple):
    """Gains a touched point: `up` with the chance `odds`, else `down`."""

    up: float
    down: float
    odds: float

    @property
    def expected(self) -> float:
        return self.odds * self.up + (1.0 - self.odds) * self.down


def price(
    firings: Sequence[Firing],
    situation: Situation,
    base: Baseline,
    defaults: Mapping[str, Any],
    beliefs: Beliefs = NOTHING_BELIEVED,
) -> Priced:
    """Return the best priced of one tactic's firings (at least one); ties go to the first alternative.

    `beliefs` are the probabilities of all traits; only gains from simulation ask for them.
    """
    priced = [_price(firing, situation, base, defaults, beliefs) for firing in firings]
    return max(priced, key=lambda p: (round(p.point, 6), -p.firing.alternative, p.family))


def _price(
    firing: Firing, situation: Situation, base: Baseline, defaults: Mapping[str, Any], beliefs: Beliefs
) -> Priced:
    tactic, effect = firing.tactic, firing.tactic.effect
    chance = _chance(firing.beliefs, effect.cause, situation.own_errors, defaults["causes"])
    fitted = _fitted(firing)
    told = _simulated(fitted, situation, beliefs) if fitted else _by_default(firing, chance, situation, defaults)
    tries = next((t for t in situation.tries if t.tactic == tactic.id), None)
    worth = float(defaults["tactic_points"])
    shift = learned(told.expected, base.of(effect.on).mean, tries, worth) if tries else 0.0
    touched = effect.share * (told.expected + shift)
    serve = touched if effect.on is not Touches.RETURN else 0.0
    return_ = touched if effect.on is not Touches.SERVE else 0.0
    return Priced(
        firing=firing,
        chance=chance,
        expected=told.expected,
        point=(serve + return_) / 2,
        serve=serve,
        return_=return_,
        up=told.up + shift,
        down=told.down + shift,
        family=tactic.family or _family(firing.beliefs, tactic),
        simulated=fitted is not None,
    )


def _fitted(firing: Firing) -> Fitted | None:
    """The gain from simulation, where it knows what the firing rests on: its beliefs, or own strokes alone."""
    fitted = firing.tactic.effect.aimed_at(firing.wing)
    if fitted is None:
        return None
    if firing.beliefs:
        known = all(_key(fact) in fitted.beliefs for fact in firing.beliefs)
    else:
        known = all(fact.kind is FactKind.OWN for fact in firing.facts)
    return fitted if known else None


def _key(belief: Fact) -> TraitKey:
    wing = belief.fields.get("wing")
    return belief.name, Wing(str(wing)) if wing else None


def _by_default(firing: Firing, chance: float, situation: Situation, defaults: Mapping[str, Any]) -> _Outcomes:
    tactic = firing.tactic
    scale = tactic.when[firing.alternative].scale
    owned = ability(tactic, situation.own, defaults["ability"])
    return _Outcomes(scale * owned * tactic.effect.gain, -scale * tactic.effect.loss, chance)


def _simulated(fitted: Fitted, situation: Situation, beliefs: Beliefs) -> _Outcomes:
    """The ends are the 10th and 90th percentile of what the beliefs and the fit leave open."""
    mean = constant(fitted, situation) + sum([part * beliefs[key] for key, part in fitted.beliefs.items()])
    unsure = sum([part * part * beliefs[key] * (1.0 - beliefs[key]) for key, part in fitted.beliefs.items()])
    spread = TENTH * sqrt(fitted.open * fitted.open + unsure)
    return _Outcomes(mean + spread, mean - spread, EITHER_WAY)


def constant(fitted: Fitted, situation: Situation) -> float:
    """What of a fitted gain a touched point rests on no belief. An unrated stroke counts as middling."""
    ratings = ((situation.own.get(stroke), part) for stroke, part in fitted.strokes.items())
    owned = float(sum([part * (rating - MIDDLING) for rating, part in ratings if rating is not None]))
    return fitted.base + owned + (fitted.same_handed if same_handed(situation) else 0.0)


def same_handed(situation: Situation) -> bool:
    """Whether both play with the same hand; so it is taken to be while either hand is unknown."""
    hands = situation.own.get("handedness"), situation.opponent.get("handedness")
    return hands[0] == hands[1] or None in hands


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
