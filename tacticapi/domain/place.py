"""Where a tactic happens on the court, said by wings and not by left and right, so that it fits every pair of hands."""

from dataclasses import dataclass, field
from enum import StrEnum

from tacticapi.domain.terms import Wing


class Side(StrEnum):
    """To which side of the middle a spot lies."""

    RIGHT = "right"  # yours, as you face the net
    LEFT = "left"
    OWN_FOREHAND = "own-forehand"
    OWN_BACKHAND = "own-backhand"
    THEIR_FOREHAND = "their-forehand"
    THEIR_BACKHAND = "their-backhand"
    AIMED_WING = "aimed-wing"  # the wing of your opponent that the tactic aims at
    OTHER_WING = "other-wing"


@dataclass(frozen=True, slots=True)
class Hands:
    """For whom a place is drawn. A hand that is not known is drawn as a right hand, a wing as the backhand."""

    own: str | None = None
    opponent: str | None = None
    wing: Wing | None = None

    def sign(self, side: Side) -> int:
        """1 where the side is to your right as you face the net, else -1."""
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
    """A spot: a side, metres from the middle towards it, metres beyond the net (minus: on your half)."""

    side: Side
    aside: float
    along: float

    def spot(self, hands: Hands) -> tuple[float, float]:
        """The spot in metres of `domain.court`."""
        return hands.sign(self.side) * self.aside, self.along


@dataclass(frozen=True, slots=True)
class PlacedMark:
    """A target or somebody's place, with the words beside it."""

    at: Point
    text: str


@dataclass(frozen=True, slots=True)
class PlacedWay:
    """The way of a ball, or of a player who moves, through two points or more."""

    through: tuple[Point, ...]
    text: str
    player: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """All places of one tactic. `serves` names the spot of each court served into (deuce, ad) where it is always one.

    Every figure is a model default: about where it is shown on a court, not measured.
    """

    tactic: str
    serves: dict[str, str] = field(default_factory=dict)
    targets: tuple[PlacedMark, ...] = ()
    you: tuple[PlacedMark, ...] = ()
    opponent: tuple[PlacedMark, ...] = ()
    ways: tuple[PlacedWay, ...] = ()
