"""Where a serve can go, on the court: the thirds of a service box, and the middle of each as a spot to aim at.

The deuce court is to the right of whoever faces the net in it: on your own half to your right, on the opposite half to
your left.
"""

from typing import Final

from tacticapi.domain.court import SERVICE_LINE_M, SIDELINE_M
from tacticapi.pictures.court_view import Spot

COURTS: Final = ("deuce", "ad")
SPOTS: Final = ("wide", "body", "T")
DEPTH_M = 1.1  # a target lies so far inside the service line: model default
_FROM_MIDDLE = {"T": 0, "body": 1, "wide": 2}


def third(court: str, spot: str, *, own_half: bool = False) -> tuple[Spot, Spot]:
    """Two opposite corners (metres) of a third of a service box. Raises KeyError for an unknown spot."""
    side, far = _sides(court, own_half)
    inner, width = _FROM_MIDDLE[spot], SIDELINE_M / len(SPOTS)
    return (side * inner * width, 0.0), (side * (inner + 1) * width, far * SERVICE_LINE_M)


def aim(court: str, spot: str, *, own_half: bool = False) -> Spot:
    """The spot (metres) to aim at in a third of a service box. Raises KeyError for an unknown spot."""
    (inner, _), (outer, line) = third(court, spot, own_half=own_half)
    return (inner + outer) / 2, line - (DEPTH_M if line > 0 else -DEPTH_M)


def middle(court: str, *, own_half: bool = False) -> float:
    """How far to the right (metres) the middle of a service box lies."""
    return _sides(court, own_half)[0] * SIDELINE_M / 2


def _sides(court: str, own_half: bool) -> tuple[int, int]:
    """On which side of the middle the box of this court lies, and on which half."""
    half = -1 if own_half else 1
    return (-half if court == "deuce" else half), half
