"""Define the singles court, in metres (ITF Rules of Tennis, Rules 1 and 2: law).

All modules use one coordinate system: the origin is on the ground under the middle of the net; x runs across, positive
to your right as you face the net; y runs along the court, negative on your side and positive on the opponent's; z
points up. Lines are measured to their outside edge, the centre service line to its middle.

A `Place` describes where a tactic happens in terms of wings, not left and right, so that it suits players of any hand.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from tacticapi.domain.situation import Wing

SINGLES_WIDTH_M: Final = 8.23  # 27 ft
LENGTH_M: Final = 23.77  # 78 ft
SIDELINE_M: Final = SINGLES_WIDTH_M / 2  # from the middle of the court to a singles sideline
BASELINE_M: Final = LENGTH_M / 2  # from the net to a baseline
SERVICE_LINE_M: Final = 6.40  # from the net to a service line, 21 ft
CENTRE_MARK_M: Final = 0.10  # length of the mark in the middle of a baseline, 4 in

NET_CENTRE_HEIGHT_M: Final = 0.914  # 3 ft, held down by a strap
NET_POST_HEIGHT_M: Final = 1.07  # 3 ft 6 in, at a post or a singles stick
POST_OUTSIDE_M: Final = 0.914  # from the sideline to the middle of a post or stick, 3 ft
STICK_M: Final = SIDELINE_M + POST_OUTSIDE_M  # from the middle of the net to a singles stick
DOUBLES_WIDTH_M: Final = 10.97  # 36 ft
DOUBLES_POST_M: Final = DOUBLES_WIDTH_M / 2 + POST_OUTSIDE_M  # from the middle of the net to a post of a doubles net


class Side(StrEnum):
    """Which side of the middle a spot is on."""

    RIGHT = "right"  # yours, as you face the net
    LEFT = "left"
    OWN_FOREHAND = "own-forehand"
    OWN_BACKHAND = "own-backhand"
    THEIR_FOREHAND = "their-forehand"
    THEIR_BACKHAND = "their-backhand"
    AIMED_WING = "aimed-wing"  # your opponent's wing that the tactic aims at
    OTHER_WING = "other-wing"


@dataclass(frozen=True, slots=True)
class Hands:
    """The hands to draw a place for. An unknown hand is drawn as right-handed, an unknown wing as the backhand."""

    own: str | None = None
    opponent: str | None = None
    wing: Wing | None = None

    def sign(self, side: Side) -> int:
        """Return 1 if the side is to your right as you face the net, else -1."""
        own, theirs = (-1 if hand == "left" else 1 for hand in (self.own, self.opponent))
        aimed = theirs if (self.wing or Wing.BACKHAND) is Wing.BACKHAND else -theirs
        return {
            Side.RIGHT: 1,
            Side.LEFT: -1,
            Side.OWN_FOREHAND: own,
            Side.OWN_BACKHAND: -own,
            Side.THEIR_BACKHAND: theirs,  # they face you: a right-hander's backhand is on your right
            Side.THEIR_FOREHAND: -theirs,
            Side.AIMED_WING: aimed,
            Side.OTHER_WING: -aimed,
        }[side]


@dataclass(frozen=True, slots=True)
class Point:
    """A spot: a side, metres from the middle towards that side, metres beyond the net (negative: on your side)."""

    side: Side
    aside: float
    along: float

    def spot(self, hands: Hands) -> tuple[float, float]:
        """Return the spot (x, y) in this module's coordinates, in metres."""
        return hands.sign(self.side) * self.aside, self.along


@dataclass(frozen=True, slots=True)
class PlacedMark:
    """A target or a player's position, with its label."""

    at: Point
    text: str


@dataclass(frozen=True, slots=True)
class PlacedWay:
    """The path of a ball or a moving player, through two or more points."""

    through: tuple[Point, ...]
    text: str
    player: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """Everything to draw for one tactic (model defaults); `serves` gives the target spot in each service court."""

    tactic: str
    serves: dict[str, str] = field(default_factory=dict)
    targets: tuple[PlacedMark, ...] = ()
    you: tuple[PlacedMark, ...] = ()
    opponent: tuple[PlacedMark, ...] = ()
    ways: tuple[PlacedWay, ...] = ()
