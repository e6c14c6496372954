"""The largest change of a belief by one more chance, found again by brute force over scipy's distributions."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import pytest
from scipy.stats import betabinom, dirichlet_multinomial

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Way
from tacticapi.domain.trait import Term, TermForm, Trait, WingRule
from tacticapi.evidence.beliefs import Move, largest_moves

Counts = tuple[int, ...]
BASE = (0.35, 0.30, 0.35)
SHARE = Term("rally.ran_round_backhand", TermForm.SHARES, "strong", holds=0.6, fails=0.3, kappa=8.0)
AGAINST = replace(SHARE, holds=0.2, kappa=12.0)
SPOTS = Term("serve.deuce_court_spots", TermForm.FAVOURITE, "strong", holds=0.57, kappa=12.0, base=BASE)
SIGN = Term("rally.ran_round_backhand", TermForm.TABLE, "strong", table={"seen": (0.8, 0.2), "not-seen": (0.2, 0.8)})


def a_trait(id: str, prior: float, *terms: Term, excludes: str | None = None) -> Trait:
    return Trait(id, id, id, WingRule.NONE, prior, terms, excludes)


def moves(rulebook: Rulebook, *traits: Trait, kinds: tuple[str, ...] = (SHARE.what,)) -> list[Move]:
    small = replace(
        rulebook,
        kinds={kind: rulebook.kinds[kind] for kind in kinds},
        traits={trait.id: trait for trait in traits},
    )
    return list(largest_moves(small))


def up_to(most: int, options: int) -> Iterator[Counts]:
    return (counts for counts in product(range(most + 1), repeat=options) if sum(counts) <= most)


def one_more(counts: Counts) -> Iterator[Counts]:
    return (tuple(n + (i == option) for i, n in enumerate(counts)) for option in range(len(counts)))


def odds_of_share(counts: Counts, term: Term) -> float:
    of = sum(counts)
    holds, fails = (
        betabinom.pmf(counts[0], of, m * term.kappa, (1 - m) * term.kappa) for m in (term.holds, term.fails)
    )
    return float(holds / fails)


@pytest.mark.parametrize(("prior", "term"), [(0.3, SHARE), (1e-6, replace(SHARE, kappa=200.0))])
def test_a_share_alone_moves_most_where_brute_force_finds_it(rulebook: Rulebook, prior: float, term: Term) -> None:
    """A rare trait moves most late, after more than sixteen chances; up to forty are tried."""
    (told,) = moves(rulebook, a_trait("hides", prior, term))

    def belief(counts: Counts) -> float:
        odds = prior / (1 - prior) * odds_of_share(counts, term)
        return odds / (1 + odds)

    beliefs = {counts: belief(counts) for counts in up_to(41, 2)}
    largest = max(abs(beliefs[after] - beliefs[counts]) for counts in up_to(40, 2) for after in one_more(counts))
    assert (told.kind, told.trait) == ("rally.ran_round_backhand", "hides")
    assert told.change == pytest.approx(largest)
    assert max(abs(beliefs[after] - beliefs[told.before]) for after in one_more(told.before)) == pytest.approx(largest)
    assert (sum(told.before) > 16) is (prior < 0.01)


def test_of_traits_that_exclude_each_other_one_count_moves_all(rulebook: Rulebook) -> None:
    """The chance of neither is what the priors leave: 0.5."""
    pair = (a_trait("hides", 0.3, SHARE, excludes="balance"), a_trait("better", 0.2, AGAINST, excludes="balance"))
    told = {move.trait: move.change for move in moves(rulebook, *pair)}

    def beliefs(counts: Counts) -> list[float]:
        lifted = [0.3 * odds_of_share(counts, SHARE), 0.2 * odds_of_share(counts, AGAINST)]
        return [odds / (sum(lifted) + 0.5) for odds in lifted]

    known = {counts: beliefs(counts) for counts in up_to(41, 2)}
    for place, trait in enumerate(("hides", "better")):
        changes = (
            abs(known[after][place] - known[counts][place]) for counts in up_to(40, 2) for after in one_more(counts)
        )
        assert told[trait] == pytest.approx(max(changes))


@pytest.mark.parametrize("prior", [0.5, 1e-6])
def test_spots_move_most_where_brute_force_finds_it(rulebook: Rulebook, prior: float) -> None:
    """Of a rare habit up to sixteen serves are tried."""
    (told,) = moves(rulebook, a_trait("predictable", prior, SPOTS), kinds=(SPOTS.what,))
    favourites = [
        [12 * (0.57 if i == spot else 0.43 * b / (1 - BASE[spot])) for i, b in enumerate(BASE)] for spot in range(3)
    ]

    def belief(counts: Counts) -> float:
        of = sum(counts)
        holds = sum(
            b * dirichlet_multinomial.pmf(counts, alphas, of) for b, alphas in zip(BASE, favourites, strict=True)
        )
        fails = dirichlet_multinomial.pmf(counts, [12 * b for b in BASE], of)
        return float(prior * holds / (prior * holds + (1 - prior) * fails))

    beliefs = {counts: belief(counts) for counts in up_to(17, 3)}
    largest = max(abs(beliefs[after] - beliefs[counts]) for counts in up_to(16, 3) for after in one_more(counts))
    assert told.change == pytest.approx(largest)


def test_a_trait_or_kind_without_counts_has_no_move(rulebook: Rulebook) -> None:
    assert moves(rulebook, a_trait("graded", 0.3, SIGN)) == []
    assert moves(rulebook, a_trait("hides", 0.3, SHARE), kinds=("movement.recovery",)) == []
    assert Way.COUNT not in rulebook.kinds["movement.recovery"].ways


def test_a_trait_that_the_kind_does_not_move_is_left_out_of_its_group(rulebook: Rulebook) -> None:
    pair = (a_trait("graded", 0.3, SIGN, excludes="balance"), a_trait("hides", 0.3, SHARE, excludes="balance"))
    (told,) = moves(rulebook, *pair)
    beliefs = {counts: 0.3 * odds / (0.3 * odds + 0.7) for counts, odds in known_odds().items()}
    largest = max(abs(beliefs[after] - beliefs[counts]) for counts in up_to(40, 2) for after in one_more(counts))
    assert (told.trait, told.change) == ("hides", pytest.approx(largest))


def known_odds() -> dict[Counts, float]:
    return {counts: odds_of_share(counts, SHARE) for counts in up_to(41, 2)}


def test_a_share_that_is_the_same_with_and_without_the_trait_moves_nothing(rulebook: Rulebook) -> None:
    alike = replace(SHARE, fails=SHARE.holds)
    assert moves(rulebook, a_trait("hides", 0.3, alike)) == [Move("rally.ran_round_backhand", "hides", 0.0, ())]


def test_of_two_terms_on_one_kind_the_one_that_moves_less_at_once_is_taken(rulebook: Rulebook) -> None:
    firmer = replace(SHARE, kappa=40.0, wing="backhand")
    (both,) = moves(rulebook, a_trait("hides", 0.3, SHARE, firmer))
    (alone,) = moves(rulebook, a_trait("hides", 0.3, firmer))
    assert both == alone


def test_traits_that_do_not_exclude_each_other_move_as_if_alone(rulebook: Rulebook) -> None:
    pair = a_trait("hides", 0.3, SHARE), a_trait("better", 0.2, AGAINST)
    assert moves(rulebook, *pair) == [*moves(rulebook, pair[0]), *moves(rulebook, pair[1])]
