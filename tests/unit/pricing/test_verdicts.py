"""How often tries condemn a good tactic and a bad one, with the opponent's misses of those balls posted and without.

High balls to the backhand are played 24 times and judged after each try from the eighth on. Good is worth 2 points in
100 tried, bad costs 4; both were believed to be good, by a rating. What they are worth comes from how the opponent
handles those balls: they miss so many more or fewer as the price takes the gain to need. docs/evidence.md shows the
table.
"""

from functools import cache

import numpy as np
import pytest
from scipy.special import expit, logit

from tacticapi.domain.rules import Level, Touches
from tacticapi.domain.situation import Tries, Wing
from tacticapi.pricing.baseline import Baseline, Beta, judged

TACTIC, RUNS, MOST = "high-ball-to-high-ball-weakness", 100_000, 24
GOOD, BAD = 0.02, -0.04
USUAL = 0.35  # of high backhands that the usual player of a club does not handle
PLAYED = Baseline(Beta(40, 40), Beta(40, 40), points=80)  # a set beside the tries
RATED = {"what": "quality.high_ball", "rating": 0.0, "wing": Wing.BACKHAND}


@pytest.fixture(scope="module")
def priced(adviser, situation):
    """Mean and spread of what a try gains once so many high backhands of so many were missed."""
    book = adviser._book
    place = book.place[TACTIC, Wing.BACKHAND]

    @cache
    def at(missed, balls):
        handled = {"what": "rally.against_high_ball", "wing": Wing.BACKHAND, "count": balls - missed, "of": balls}
        prices = adviser._read(situation(observations=[RATED, *([handled] if balls else [])])).prices
        share = float(book.share[place])
        spread = np.hypot(float(prices.spread[place]) / share, float(book.figures["carried_out"]))
        return float(prices.mean[place]) / share, float(spread)

    return at


@pytest.fixture(scope="module")
def slope(adviser, rulebook):
    """Points a tried point that one unit of log-odds in high backhands is worth, by the price of the tactic."""
    book = adviser._book
    latent = book.latents[Level.CLUB]
    high = latent.vector({"high": 1.0}, Wing.BACKHAND)
    return float(-book.slopes[Level.CLUB][book.place[TACTIC, Wing.BACKHAND]] @ high / (high @ high))


def condemned(truth, posted, rulebook, priced, slope):
    """Return the share of runs in which the tactic is condemned at any time; `posted` is the part with misses."""
    rule, draw = rulebook.defaults["plan"], np.random.default_rng(3)
    share = expit(logit(USUAL) + truth / slope)
    otherwise = (0.5 + truth - share) / (1.0 - share)  # points won of those that no such miss ended
    missed = draw.random((RUNS, MOST)) < share
    won = np.cumsum(missed | (draw.random((RUNS, MOST)) < otherwise), axis=1)
    total = np.cumsum(missed, axis=1)

    @cache
    def worse(tried, won, missed):
        prior = priced(missed, round(posted * tried))
        return judged("a", [Tries("a", tried, won)], Touches.BOTH, PLAYED, prior).worse

    out = np.zeros(RUNS, dtype=bool)
    for tried in range(int(rule["tries"]), MOST + 1):
        balls = round(posted * tried)
        of_them = total[:, balls - 1].tolist() if balls else [0] * RUNS
        told = [worse(tried, *pair) for pair in zip(won[:, tried - 1].tolist(), of_them, strict=True)]
        out |= np.array(told) >= float(rule["worse"])
    return float(out.mean())


@pytest.mark.parametrize(("posted", "bad"), [(0.0, 0.15), (0.5, 0.22), (1.0, 0.28)])
def test_few_good_tactics_and_many_bad_ones_are_condemned(rulebook, priced, slope, posted, bad):
    """Points alone find a sixth of the bad ones; misses find more."""
    assert condemned(GOOD, posted, rulebook, priced, slope) <= 0.12
    assert bad <= condemned(BAD, posted, rulebook, priced, slope) <= 0.35
