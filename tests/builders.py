"""Short ways to write down what tests are made of: a tactic, a count, a score, players of whom little is known."""

from typing import Any

import numpy as np

from tacticapi.domain.rules import Alternative, Tactic
from tacticapi.domain.situation import Show
from tacticapi.evidence.gaussian import Array
from tacticapi.evidence.profile import Fit

HOUSE_TACTIC = """\
category: serve
tactics:
  - id: club-serve
    title: The club's serve
    say: Serve as the club does.
    why: It has worked here.
    when: [{all: []}]
    not_if: it does not work
    stop_when: look again after six tries
    risk: low
    order: 5
    source: house rule
"""
"""A file of house rules."""


def plain_tactic(id: str, **fields: Any) -> Tactic:
    """Return a tactic that always applies and is shown for its gain, but for the fields given; it has no price."""
    plain: dict[str, Any] = {"category": "rally", "title": id, "say": id, "why": "it pays", "when": (Alternative(()),)}
    plain |= {"needs": (), "unless": (), "not_if": "never", "stop_when": "look again", "show": Show.GAIN}
    return Tactic(id, **{**plain, "risk": "low", "authority": 4, **fields})


def tally(what: str, count: float, of: float, **more: Any) -> dict[str, Any]:
    """Return the body of an observation that counts: `count` of `of` chances."""
    return {"what": what, "count": count, "of": of, **more}


def spots(court: str, wide: int, body: int, t: int, **more: Any) -> dict[str, Any]:
    """Return the body of an observation of where serves went in a court."""
    return {"what": f"serve.{court}_court_spots", "counts": {"wide": wide, "body": body, "T": t}, **more}


def scored(games: str, sets: str = "", points: str = "0-0", server: str | None = "own") -> dict[str, Any]:
    """Return the body of a score: scored("2-1", "6-4 3-6", "30-40", "opponent")."""
    played = [[int(n) for n in one.split("-")] for one in [*sets.split(), games]]
    score: dict[str, Any] = {"sets": played[:-1], "games": played[-1], "points": points.split("-")}
    return {**score, "server": server} if server else score


def drawn(fit: Fit, times: int, draw: np.random.Generator) -> Array:
    """Draw players from a posterior, its covariance taken from the variances of sums of two latent values."""
    each = np.eye(len(fit.latent.dims))
    means, variances, _ = fit.of(each)
    covariance = (np.array([fit.of(each + one)[1] for one in each]) - variances - variances[:, np.newaxis]) / 2
    np.fill_diagonal(covariance, variances)
    return draw.multivariate_normal(means, covariance, times, method="cholesky")
