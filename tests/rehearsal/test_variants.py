"""Rulebooks with one thing changed, to see how much hangs on it."""

import pytest

from tacticapi.domain.trait import TermForm
from tacticapi.rulebook.load import load
from tests.rehearsal.variants import VARIANTS, doubled, evidence_times, gains_times, halved


@pytest.fixture(scope="module")
def rulebook():
    return load()


def terms(rulebook):
    return [term for trait in rulebook.traits.values() for term in trait.terms]


def test_evidence_at_its_own_strength_is_the_published_evidence(rulebook):
    for before, after in zip(terms(rulebook), terms(evidence_times(rulebook, 1.0)), strict=True):
        assert after.p_if_true == pytest.approx(before.p_if_true)
        assert all(after.table[level] == pytest.approx(chances) for level, chances in before.table.items())


def test_halved_evidence_has_half_the_gap_and_tables_still_add_up(rulebook):
    for before, half in zip(terms(rulebook), terms(halved(rulebook)), strict=True):
        if before.form is TermForm.SHARES:
            assert half.p_if_true - half.p_if_false == pytest.approx((before.p_if_true - before.p_if_false) / 2)
        for column in (0, 1):
            assert not half.table or sum(chances[column] for chances in half.table.values()) == pytest.approx(1.0)


def test_doubled_evidence_squares_likelihood_ratios_between_levels(rulebook):
    pairs = zip(terms(rulebook), terms(doubled(rulebook)), strict=True)
    table, twice = next((a.table, b.table) for a, b in pairs if a.table)
    first, second = list(table)[:2]

    def against(levels):
        return (levels[first][0] / levels[first][1]) / (levels[second][0] / levels[second][1])

    assert against(twice) == pytest.approx(against(table) ** 2)


def test_gains_of_every_kind_take_the_same_factor(rulebook):
    twice = gains_times(rulebook, 2.0)
    for name, tactic in rulebook.tactics.items():
        before, after = tactic.effect, twice.tactics[name].effect
        assert (after.gain, after.loss, after.share) == (2 * before.gain, 2 * before.loss, before.share)
        for wing, gain in before.fitted.items():
            assert after.fitted[wing].base == 2 * gain.base
            assert after.fitted[wing].beliefs == {key: 2 * part for key, part in gain.beliefs.items()}
    assert any(tactic.effect.fitted for tactic in rulebook.tactics.values())


@pytest.mark.parametrize(("name", "evidence", "factor"), [("all halved", halved, 0.5), ("all doubled", doubled, 2.0)])
def test_a_variant_of_everything_changes_evidence_and_gains_alike(rulebook, name, evidence, factor):
    book = VARIANTS[name](rulebook)
    assert terms(book) == terms(evidence(rulebook))
    for tactic, changed in zip(rulebook.tactics.values(), book.tactics.values(), strict=True):
        assert (changed.effect.gain, changed.effect.loss) == (factor * tactic.effect.gain, factor * tactic.effect.loss)


def test_the_published_rulebook_is_left_as_it_is(rulebook):
    assert VARIANTS["published"](rulebook) is rulebook
