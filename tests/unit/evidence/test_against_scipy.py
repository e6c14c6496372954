"""What a look may show, two ends in the wind, and spots served, against scipy's distributions and quadrature."""

from collections.abc import Callable
from math import exp, fsum, log

import pytest
from scipy.integrate import quad
from scipy.special import betaln, log_expit, logit
from scipy.stats import betabinom, dirichlet_multinomial

from tacticapi.domain.situation import Situation
from tacticapi.domain.trait import Term, TermForm
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.evidence.likelihood import ends_log_odds
from tacticapi.evidence.next_observation import predict_hits, predict_spread, predict_spread_by_favourite, spreads
from tacticapi.scoring import Format, read_score

Write = Callable[..., Situation]
BASE = (0.35, 0.30, 0.35)
FAVOURITES = [
    [12 * (0.57 if i == spot else 0.43 * b / (1 - BASE[spot])) for i, b in enumerate(BASE)] for spot in range(3)
]
PLAIN = [12 * b for b in BASE]


@pytest.mark.parametrize("seen", [(0, 0), (6, 10), (10, 10), (2.5, 7.25)])
def test_a_share_after_counts_falls_as_scipys_beta_binomial(seen: tuple[float, float]) -> None:
    term = Term("some.kind", TermForm.SHARES, "strong", holds=0.39, fails=0.25, kappa=40.0)
    hits, misses = seen[0], seen[1] - seen[0]
    for told, share in zip(predict_hits(term, seen, 4), (0.39, 0.25), strict=True):
        expected = betabinom.pmf(range(5), 4, 40 * share + hits, 40 * (1 - share) + misses)
        assert told == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("seen", [(0, 0, 0), (6, 1, 0), (2, 2, 2), (0, 3, 9)])
def test_serves_after_serves_fall_as_scipys_dirichlet_multinomial(seen: tuple[int, int, int]) -> None:
    """Which spot would be the favourite is weighed by what has been served (Bayes)."""
    holds, fails = predict_spread(0.57, 12.0, BASE, seen, 2)
    told = [b * dirichlet_multinomial.pmf(seen, alphas, sum(seen)) for b, alphas in zip(BASE, FAVOURITES, strict=True)]
    for (next_two, _), with_favourite, without in zip(spreads(3, 2), holds, fails, strict=True):
        parts = [w * chance(next_two, alphas, seen) for w, alphas in zip(told, FAVOURITES, strict=True)]
        assert with_favourite == pytest.approx(sum(parts) / sum(told))
        assert without == pytest.approx(chance(next_two, PLAIN, seen))


def chance(next_two: tuple[int, ...], alphas: list[float], seen: tuple[int, int, int]) -> float:
    after = [a + n for a, n in zip(alphas, seen, strict=True)]
    return float(dirichlet_multinomial.pmf(next_two, after, sum(next_two)))


def test_a_thousand_serves_leave_outcomes_that_sum_to_one() -> None:
    for outcomes in predict_spread(0.57, 12.0, BASE, (600.0, 250.0, 150.0), 3):
        assert fsum(outcomes) == pytest.approx(1.0)


def test_with_the_favourite_known_serves_fall_as_scipys_dirichlet_multinomial() -> None:
    known = predict_spread_by_favourite(0.57, 12.0, BASE, 2)
    assert len(known) == 3
    for (holds, fails), alphas in zip(known, FAVOURITES, strict=True):
        for (next_two, _), with_it, without in zip(spreads(3, 2), holds, fails, strict=True):
            assert with_it == pytest.approx(dirichlet_multinomial.pmf(next_two, alphas, 2))
            assert without == pytest.approx(dirichlet_multinomial.pmf(next_two, PLAIN, 2))


@pytest.mark.parametrize(
    ("one", "other"),
    [((9, 20), (2, 20)), ((3, 20), (3, 20)), ((0, 3), (4, 5)), ((1.5, 7.25), (0, 2.5)), ((1, 1), (0, 1))],
)
def test_errors_at_two_ends_weigh_what_scipys_quadrature_says(
    one: tuple[float, float], other: tuple[float, float]
) -> None:
    """The player's own share of errors is averaged over Beta(2 x 0.18, 2 x 0.82), on the log odds of the share."""
    half = (logit(0.29) - logit(0.18)) / 2

    def likely(shift: float) -> float:
        def at(x: float) -> float:
            parts = ((0.36, 2.0, x), (*one, x + shift), (*other, x - shift))
            return exp(sum(hits * log_expit(y) + (of - hits) * log_expit(-y) for hits, of, y in parts))

        return float(quad(at, -60, 40, points=[-2.0], limit=400, epsabs=0.0, epsrel=1e-10)[0])

    expected = log((likely(half) + likely(-half)) / 2 / likely(0.0))
    assert ends_log_odds(one, other, 0.29, 0.18) == pytest.approx(expected, abs=1e-5)


def test_spots_of_serves_weigh_as_scipys_mixture_over_the_favourite(evidence: EvidenceModel, situation: Write) -> None:
    """Six serves wide and one to the T five games ago count half; with two wide and one at the body: 5, 1 and 0.5."""
    score = {"sets": [], "games": [4, 3], "points": ["0", "0"], "server": "own"}
    seen = [
        {"what": "serve.deuce_court_spots", "counts": {"wide": 6, "T": 1}, "set": 1, "game": 2},
        {"what": "serve.deuce_court_spots", "counts": {"wide": 2, "body": 1}, "set": 1, "game": 7},
    ]
    asked = situation(observations=seen, score=score)
    beliefs = evidence.believe(asked, read_score(Format.from_wire(None), asked.score)).by_key
    (told,) = beliefs["serve_predictable", None].contributions
    weighed = (5.0, 1.0, 0.5)
    favourites = [
        weight * exp(log_density(weighed, alphas) - log_density(weighed, PLAIN))
        for weight, alphas in zip(BASE, FAVOURITES, strict=True)
    ]
    assert told.log_odds == pytest.approx(log(sum(favourites)))
    assert told.chances == 10
    assert told.text.endswith(": wide 8, T 1, body 1")


def log_density(counts: tuple[float, ...], alphas: list[float]) -> float:
    """Log of the integral of prod p^(a + n - 1) over that of prod p^(a - 1): Dirichlet's integral by scipy's beta."""
    total, held, added = 0.0, alphas[0], counts[0]
    for a, n in zip(alphas[1:], counts[1:], strict=True):
        total += float(betaln(held + added, a + n) - betaln(held, a))
        held, added = held + a, added + n
    return total
