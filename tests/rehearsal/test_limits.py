"""What is corrected with the truth in hand pays at least what was claimed without it."""

import numpy as np
from click.testing import CliRunner

from tests.rehearsal.limits import Met, corrected, limits
from tests.rehearsal.world.pairing import draw_pairing
from tests.rehearsal.world.tactics import options
from tests.rehearsal.world.worlds import HOME, WORLDS


def met(prices: list[float], gains: list[float]) -> Met:
    rest = [0.0] * (len(options()) - len(prices))
    return Met(HOME.name, draw_pairing(1, 1, HOME), None, 1, [], prices + rest, gains + rest, 1.0)


def test_a_price_that_claims_too_much_in_the_mean_is_moved_and_one_too_steep_is_flattened() -> None:
    two = [met([0.01, 0.03], [0.0, 0.01]), met([0.02, 0.01], [0.01, 0.0])]
    centred, scaled = (corrected(two, slopes=slopes)[:, :2] for slopes in (False, True))
    assert np.allclose(centred, [[0.0, 0.015], [0.01, -0.005]])
    assert np.allclose(scaled, [[0.0, 0.01], [0.01, 0.0]])


def test_a_table_with_two_stretches_is_printed() -> None:
    printed = CliRunner().invoke(limits, ["--opponents", "2"]).output.splitlines()
    assert len(printed) == 2 + 2 * 4
    assert all(len(line.split("|")) == 2 + 1 + len(WORLDS) + 2 for line in printed[2:])
