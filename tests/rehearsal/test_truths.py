"""What is true of an opponent: each statement is one of the rulebook's traits, and none is always or never true."""

import pytest

from tacticapi.knowledge import load
from tests.rehearsal.world.pairing import draw_pairing
from tests.rehearsal.world.truths import STROKES, misses_more_on_the_backhand, truths
from tests.rehearsal.world.worlds import WORLDS


@pytest.fixture(scope="module")
def many():
    return [truths(draw_pairing(41, index)) for index in range(150)]


def test_every_statement_is_a_trait_of_the_rulebook_on_one_of_its_wings(many):
    known = {(t.id, w.value if w else None) for t in load().traits.values() for w in t.wings}
    assert set(many[0]) <= known


def test_no_statement_holds_for_everybody_or_nobody(many):
    for key in many[0]:
        share = sum(one[key] for one in many) / len(many)
        assert 0.02 < share < 0.75, (key, share)


def test_at_most_one_of_the_three_balances_between_the_wings_holds(many):
    keys = [("hides_backhand", "backhand"), ("backhand_is_better", "backhand"), ("two_even_wings", None)]
    assert all(sum(one[key] for key in keys) <= 1 for one in many)


@pytest.mark.parametrize("world", WORLDS.values(), ids=list(WORLDS))
def test_in_every_world_strokes_and_wings_are_weak_for_some_and_sound_for_others(world):
    met = [draw_pairing(41, index, world) for index in range(80)]
    found = [truths(pairing) for pairing in met]
    weak = [key for key in found[0] if key[0] in STROKES]
    assert {trait for trait, _ in weak} == STROKES
    for key in weak:
        assert 0.05 < sum(one[key] for one in found) / len(found) < 0.6, key
    assert 0.5 < sum(map(misses_more_on_the_backhand, met)) / len(met) < 0.85
