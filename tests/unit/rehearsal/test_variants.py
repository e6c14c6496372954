"""Rulebooks with one thing changed, to see how much hangs on it."""

import pytest

from tacticapi.domain.tactic import FactKind
from tacticapi.domain.terms import Show
from tacticapi.domain.trait import TermForm
from tacticapi.knowledge import load
from tacticapi.rehearsal.variants import doubled, evidence_first, evidence_times, halved, without_gates


@pytest.fixture(scope="module")
def rulebook():
    return load()


def terms(rulebook):
    return [term for trait in rulebook.traits.values() for term in trait.terms]


def test_evidence_at_its_own_strength_is_the_published_evidence(rulebook):
    for before, after in zip(terms(rulebook), terms(evidence_times(rulebook, 1.0)), strict=True):
        assert after.holds == pytest.approx(before.holds)
        assert all(after.table[level] == pytest.approx(chances) for level, chances in before.table.items())


def test_halved_evidence_has_half_the_gap_and_tables_still_add_up(rulebook):
    for before, half in zip(terms(rulebook), terms(halved(rulebook)), strict=True):
        if before.form is TermForm.SHARES:
            assert half.holds - half.fails == pytest.approx((before.holds - before.fails) / 2)
        for column in (0, 1):
            assert not half.table or sum(chances[column] for chances in half.table.values()) == pytest.approx(1.0)


def test_doubled_evidence_squares_likelihood_ratios_between_levels(rulebook):
    pairs = zip(terms(rulebook), terms(doubled(rulebook)), strict=True)
    table, twice = next((a.table, b.table) for a, b in pairs if a.table)
    first, second = list(table)[:2]

    def against(levels):
        return (levels[first][0] / levels[first][1]) / (levels[second][0] / levels[second][1])

    assert against(twice) == pytest.approx(against(table) ** 2)


def test_without_thresholds_no_ranked_tactic_waits_for_a_belief(rulebook):
    opened = without_gates(rulebook)
    ranked = [tactic for tactic in opened.tactics.values() if tactic.show is Show.GAIN]
    asked = [c for tactic in ranked for a in tactic.when for c in a.conditions if c.kind is FactKind.BELIEF]
    gates = {test.value for condition in asked for test in condition.tests if test.field == "permille"}
    assert gates == {0}


def test_evidence_first_keeps_safety_and_law_where_they_are(rulebook):
    changed = evidence_first(rulebook)
    first = {name for name, t in rulebook.tactics.items() if t.show is Show.FIRST}
    assert {name for name, t in changed.tactics.items() if t.show is Show.FIRST} == first
    assert changed.tactics["keep-a-winning-game"].show is Show.REMINDER
    assert changed.tactics["high-ball-to-high-ball-weakness"].show is Show.GAIN
