"""What prices alone would have the user play."""

import pytest

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.tactic import Touches
from tacticapi.domain.terms import Wing
from tests.rehearsal.outcome import Believed
from tests.rehearsal.prices import Most, best, by_price, prices_of
from tests.rehearsal.world.pairing import Pairing, draw_pairing
from tests.rehearsal.world.tactics import CHANGES, options


@pytest.fixture(scope="module")
def pairing() -> Pairing:
    return draw_pairing(77, 3)


def test_a_price_moves_with_a_belief_by_the_fitted_part(rulebook: Rulebook, pairing: Pairing) -> None:
    key = ("weak_high_backhand", Wing.BACKHAND)
    low, high = (prices_of(rulebook, pairing, {key: chance}) for chance in (0.2, 0.7))
    for option, before, after in zip(options(), low, high, strict=True):
        effect = rulebook.tactics[option.tactic].effect
        fitted = effect.aimed_at((Wing.FOREHAND, Wing.BACKHAND)[option.aim])
        part = fitted.beliefs.get(key, 0.0) if fitted else 0.0
        touched = effect.share * (1.0 if effect.applies_to is Touches.BOTH else 0.5)
        assert after - before == pytest.approx(0.5 * touched * part)
    assert low != high


def test_the_best_are_different_tactics_worth_their_while() -> None:
    gains = [0.01 - 0.0001 * place for place in range(len(options()))]
    chosen = [one.tactic for one in best(gains, Most(3, 0.001))]
    assert chosen == list(dict.fromkeys(o.tactic for o in options() if not CHANGES[o.tactic].reads))[:3]
    assert best(gains, Most(3, 0.02)) == []


def test_what_each_truly_adds_alone_is_no_worse_than_nothing(rulebook: Rulebook, pairing: Pairing) -> None:
    believed = [Believed("weak_high_backhand", "backhand", 0.3, 0.6, True)]
    singles = pairing.singles()
    found = by_price(rulebook, pairing, believed, singles, Most(1, 0.0))
    assert found.singles - pairing.chances(()).point == pytest.approx(max(singles), abs=1e-9)
    assert found.singles >= max(found.beliefs, found.truths)
