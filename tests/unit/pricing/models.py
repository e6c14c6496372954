"""Models and counts that the tests of games share."""

from __future__ import annotations

from tacticapi.pricing.serve_mix import MixModel, Serves, SpotCounts

SPOTS = ("wide", "body", "T")
MODEL = MixModel(
    prior_share=0.58,
    prior_serves=8,
    lean_effect=0.2,
    effect_serves=40,
    lean_serves=6,
    stays=0.5,
    least_share=0.1,
)


def counted(times: float = 1) -> SpotCounts:
    """A first set's serves, all counts multiplied."""
    serves = {"wide": Serves(8 * times, 11 * times), "body": Serves(3 * times, 7 * times)}
    return SpotCounts(SPOTS, {**serves, "T": Serves(6 * times, 10 * times)})
