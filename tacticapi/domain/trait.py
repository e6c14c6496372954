"""Traits: what may be true of an opponent, each a word for a region of the profile."""

from dataclasses import dataclass
from enum import StrEnum

from tacticapi.domain.profile import Region
from tacticapi.domain.terms import Wing


class WingRule(StrEnum):
    """Whether a trait is one belief or one a wing."""

    NONE = "none"
    EACH = "each"
    FOREHAND = "forehand"
    BACKHAND = "backhand"


@dataclass(frozen=True, slots=True)
class Trait:
    """One statement about the opponent: the regions of the profile in which it is true, at most two, all needed.

    `favourite` instead of regions: it is true if one spot takes at least this share of the serves to a court.
    `unused_because` explains why no tactic asks for it, where none does.
    """

    id: str
    title: str
    means: str
    wing: WingRule
    regions: tuple[Region, ...] = ()
    favourite: float | None = None
    not_from: str | None = None
    unused_because: str | None = None

    @property
    def wings(self) -> tuple[Wing | None, ...]:
        """One entry a belief: each wing, a fixed wing, or None."""
        match self.wing:
            case WingRule.EACH:
                return (Wing.FOREHAND, Wing.BACKHAND)
            case WingRule.NONE:
                return (None,)
            case _:
                return (Wing(self.wing.value),)
