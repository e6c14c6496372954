"""The arithmetic of one kind of evidence: direction, extremes, and what is left out."""

from math import exp, isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.trait import TermForm
from tacticapi.evidence.likelihood import (
    ends_log_odds,
    favourite_log_odds,
    log_beta_binomial,
    log_dirichlet_multinomial,
    share_log_odds,
)

BASE = (0.35, 0.30, 0.35)
HUGE = 10_000


def test_every_term_stays_finite_for_any_count_that_a_client_may_post(rulebook: Rulebook) -> None:
    for trait in rulebook.traits.values():
        for term in trait.terms:
            if term.form is TermForm.SHARES:
                extremes = [(0, HUGE), (HUGE, HUGE), (HUGE // 2, HUGE), (0, 1), (1, 1), (0.001, 0.002)]
                said = [share_log_odds(a, b, term.holds, term.fails, term.kappa) for a, b in extremes]
            elif term.form is TermForm.FAVOURITE:
                spreads = [[HUGE, 0, 0], [0, 0, HUGE], [HUGE, HUGE, HUGE], [0, 0, 1], [0.001, 0, 0]]
                said = [favourite_log_odds(counts, term.holds, term.kappa, term.base) for counts in spreads]
            elif term.form is TermForm.ENDS:
                both = [((0, HUGE), (HUGE, HUGE)), ((HUGE, HUGE), (HUGE, HUGE)), ((1, 1), (0, 1))]
                said = [ends_log_odds(a, b, term.holds, term.fails) for a, b in both]
            else:
                continue
            assert all(isfinite(value) for value in said), (trait.id, term.what)


def test_both_columns_of_every_table_sum_to_one(rulebook: Rulebook) -> None:
    tables = [t for trait in rulebook.traits.values() for t in trait.terms if t.form is TermForm.TABLE]
    assert len(tables) > 60
    for term in tables:
        for column in zip(*term.table.values(), strict=True):
            assert sum(column) == pytest.approx(1.0, abs=1e-9), term.what
            assert all(0 < chance < 1 for chance in column), term.what


def test_shares_keep_holds_apart_from_fails_and_away_from_certainty(rulebook: Rulebook) -> None:
    for trait in rulebook.traits.values():
        for term in trait.terms:
            if term.form in (TermForm.SHARES, TermForm.ENDS):
                assert 0.02 < min(term.holds, term.fails) < max(term.holds, term.fails) < 0.98, (trait.id, term.what)
                assert (term.kappa > 0) is (term.form is TermForm.SHARES), (trait.id, term.what)


@given(chances=st.integers(0, 40), share=st.floats(0.05, 0.95), size=st.floats(1, 60))
def test_one_chance_after_another_or_all_at_once_weighs_the_same(chances: int, share: float, size: float) -> None:
    """Chances are exchangeable: updating the Beta ball by ball multiplies up to the Beta-Binomial."""
    a, b, product = share * size, (1 - share) * size, 1.0
    for ball in range(chances):
        hit = ball % 3 == 0
        product *= (a if hit else b) / (a + b)
        a, b = a + hit, b + (not hit)
    hits = len(range(0, chances, 3))
    assert exp(log_beta_binomial(hits, chances, share, size)) == pytest.approx(product, rel=1e-9)


def test_a_count_at_the_share_without_the_trait_speaks_against_it() -> None:
    assert share_log_odds(6, 20, 0.50, 0.30, 40) < 0 < share_log_odds(10, 20, 0.50, 0.30, 40)


def test_nothing_seen_says_nothing() -> None:
    assert share_log_odds(0, 0, 0.5, 0.3, 40) == 0.0
    assert favourite_log_odds([0, 0, 0], 0.57, 12, BASE) == pytest.approx(0.0, abs=1e-12)
    assert ends_log_odds((0, 0), (0, 0), 0.29, 0.18) == pytest.approx(0.0, abs=1e-12)


def test_a_single_serve_says_next_to_nothing_about_a_favourite_spot() -> None:
    """The spot is averaged over, not picked after the fact: the first serve always lands on the largest count."""
    for counts in ([1, 0, 0], [0, 1, 0], [0, 0, 1]):
        assert abs(favourite_log_odds(counts, 0.57, 12, BASE)) < 0.04


def test_six_serves_to_one_spot_speak_for_a_favourite_and_an_even_spread_against() -> None:
    assert favourite_log_odds([6, 0, 0], 0.57, 12, BASE) > 0.5
    assert favourite_log_odds([3, 3, 3], 0.57, 12, BASE) < -0.2


def test_which_end_is_the_worse_one_does_not_matter() -> None:
    one, other = (9.0, 20.0), (2.0, 20.0)
    swapped = ends_log_odds(other, one, 0.29, 0.18)
    assert ends_log_odds(one, other, 0.29, 0.18) == pytest.approx(swapped, abs=1e-12)
    assert swapped > 0 > ends_log_odds((3.0, 20.0), (3.0, 20.0), 0.29, 0.18)


def test_a_player_who_misses_as_much_at_either_end_is_not_unsettled_by_the_wind() -> None:
    for errors in (1.0, 5.0, 12.0, 19.0):
        assert ends_log_odds((errors, 20.0), (errors, 20.0), 0.29, 0.18) < 0


def test_one_end_alone_says_next_to_nothing_about_the_wind() -> None:
    for errors in (0.0, 4.0, 9.0):
        assert abs(ends_log_odds((errors, 20.0), (0.0, 0.0), 0.29, 0.18)) < 0.12


def test_enough_balls_settle_whether_one_end_is_worse() -> None:
    assert ends_log_odds((20.0, 40.0), (5.0, 40.0), 0.29, 0.18) > 3
    assert ends_log_odds((1000.0, 4000.0), (500.0, 4000.0), 0.29, 0.18) > 50
    assert ends_log_odds((700.0, 4000.0), (700.0, 4000.0), 0.29, 0.18) < -10


@given(st.integers(0, 40), st.integers(0, 40), st.integers(0, 40), st.integers(0, 40), st.booleans())
def test_one_more_stroke_at_either_end_moves_a_belief_little(a: int, n: int, b: int, m: int, miss: bool) -> None:
    before, after = (
        1 / (1 + 0.7 / 0.3 * exp(-ends_log_odds(*ends, 0.29, 0.18)))
        for ends in (((min(a, n), n), (min(b, m), m)), ((min(a, n) + miss, n + 1), (min(b, m), m)))
    )
    assert abs(after - before) <= 0.12


def test_old_counts_enter_as_fractions_without_a_jump() -> None:
    whole = log_dirichlet_multinomial([3, 1, 0], [4.2, 3.6, 4.2])
    nearly = log_dirichlet_multinomial([3.000001, 1, 0], [4.2, 3.6, 4.2])
    assert whole == pytest.approx(nearly, abs=1e-5)
