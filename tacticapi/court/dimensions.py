"""The net and the parts of the court that a ball may land in, in the metres of `domain.court`."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tacticapi.domain.court import (
    BASELINE_M,
    DOUBLES_POST_M,
    NET_CENTRE_HEIGHT_M,
    NET_POST_HEIGHT_M,
    SERVICE_LINE_M,
    SIDELINE_M,
    STICK_M,
)

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Region:
    """A part of the opponent's half, from `left` to `right` (x) and from the net to `back` (y), metres."""

    left: float
    right: float
    back: float


COURT: Final = Region(-SIDELINE_M, SIDELINE_M, BASELINE_M)
# boxes as the server faces them: the deuce court is served into from the right, so it lies to the left
BOXES: Final = {
    "deuce": Region(-SIDELINE_M, 0.0, SERVICE_LINE_M),
    "ad": Region(0.0, SIDELINE_M, SERVICE_LINE_M),
}


def net_height(x: ArrayLike, sticks: bool = True) -> Floats:
    """Height of the net's top (metres) so far from its middle, straight from the centre to a post.

    `sticks`: held up by singles sticks or by the posts of a singles net; without them by the posts of a doubles net.
    Beyond the post the height of the post is told, as if the net went on. ITF Rules of Tennis, Rules 1 and 2; the
    straight line is ours, a real cord sags a little below it.
    """
    post = STICK_M if sticks else DOUBLES_POST_M
    rise = np.minimum(np.abs(np.asarray(x, dtype=float)) / post, 1.0)
    return np.asarray(NET_CENTRE_HEIGHT_M + (NET_POST_HEIGHT_M - NET_CENTRE_HEIGHT_M) * rise)
