"""What the rulebook's prices alone would have the user play, whatever the conditions of its tactics ask for.

With our beliefs, with the truth behind them, and with what each tactic truly adds alone in place of a price: between
these lies what conditions, notes and prices each cost the advice.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.tactic import Touches, TraitKey
from tacticapi.domain.terms import Wing
from tests.rehearsal.gains import MIDDLING
from tests.rehearsal.outcome import Believed, ByPrice
from tests.rehearsal.world.pairing import Pairing
from tests.rehearsal.world.shots import FOREHAND
from tests.rehearsal.world.tactics import CHANGES, Chosen, options


class Most(NamedTuple):
    """So many tactics at most, each worth at least so much a point."""

    number: int
    least: float


def by_price(
    rulebook: Rulebook, pairing: Pairing, believed: Sequence[Believed], singles: Sequence[float], most: Most
) -> ByPrice:
    """The chances to win a point with the best by our beliefs, by the truth behind them, and by `singles`.

    `singles` is what each option of the world truly adds alone.
    """
    ours = prices_of(rulebook, pairing, {_key(one): one.probability for one in believed})
    true = prices_of(rulebook, pairing, {_key(one): float(one.holds) for one in believed})
    return ByPrice(*(pairing.chances(best(gains, most)).point for gains in (ours, true, singles)))


def prices_of(rulebook: Rulebook, pairing: Pairing, chances: Mapping[TraitKey, float]) -> list[float]:
    """What each option of the world gains a point by the fitted prices; nothing where there is none."""
    return [_price(rulebook, option, pairing, chances) for option in options()]


def best(gains: Sequence[float], most: Most) -> list[Chosen]:
    """The options with the largest gains, each tactic once; reading serves is left out."""
    chosen: dict[str, Chosen] = {}
    for gain, option in sorted(zip(gains, options(), strict=True), key=lambda one: -one[0]):
        if gain < most.least or len(chosen) == most.number:
            break
        if option.tactic not in chosen and not CHANGES[option.tactic].reads:
            chosen[option.tactic] = option
    return list(chosen.values())


def _price(rulebook: Rulebook, option: Chosen, pairing: Pairing, chances: Mapping[TraitKey, float]) -> float:
    effect = rulebook.tactics[option.tactic].effect
    fitted = effect.aimed_at(Wing.FOREHAND if option.aim == FOREHAND else Wing.BACKHAND)
    if fitted is None:
        return 0.0
    owned = [part * (pairing.user.ratings[stroke] - MIDDLING) for stroke, part in fitted.strokes.items()]
    seen = [part * chances.get(key, rulebook.traits[key[0]].prior) for key, part in fitted.beliefs.items()]
    gain = fitted.base + fitted.same_handed * pairing.same_handed + sum(owned) + sum(seen)
    return effect.share * gain * (1.0 if effect.applies_to is Touches.BOTH else 0.5)


def _key(believed: Believed) -> TraitKey:
    return believed.trait, Wing(believed.wing) if believed.wing else None
