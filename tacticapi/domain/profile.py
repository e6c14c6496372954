"""The profile of a player in the words of the rulebook: qualities, what observations say of them, regions."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from tacticapi.domain.terms import Way, Wing


class Level(StrEnum):
    """The level of a player: whom usual shares and spreads are taken from."""

    TOUR = "tour"
    ADVANCED = "advanced"
    CLUB = "club"
    JUNIOR = "junior"


USUAL_LEVEL = Level.CLUB
Loads = Mapping[str, float]
"""How much each quality counts in a sum. Keys are ids, or `id/forehand`, `id/backhand`, `id/other` of one with wings."""


@dataclass(frozen=True, slots=True)
class Quality:
    """One latent quality of a player, in log-odds against the usual player of the level.

    A skill is positive if the player is better at it, a habit if it is done more often. `spread` is its standard
    deviation between players by level; `carry_over` the share of the variance that comes again in another match.
    """

    id: str
    title: str
    has_wings: bool
    spread: Mapping[Level, float]
    carry_over: float
    habit: bool = False

    @property
    def wings(self) -> tuple[Wing | None, ...]:
        """One entry a latent value."""
        return tuple(Wing) if self.has_wings else (None,)


@dataclass(frozen=True, slots=True)
class Measure:
    """What one kind of observation says of a loaded sum of qualities.

    A count has the mean share `usual` (by level) among players; `options` are the options that count as hits.
    `words` (value), `seen` (yes, no) and `amount` (usual, step) are read as steps of the rating scale from its middle.
    `serve`, `court` and `way` narrow what is read.
    """

    loads: Loads
    usual: Mapping[Level, float] = field(default_factory=dict)
    options: tuple[str, ...] = ()
    words: Mapping[str, float] = field(default_factory=dict)
    amount: tuple[Mapping[Level, float], float] | None = None
    seen: tuple[float, float] | None = None
    serve: str | None = None
    court: str | None = None
    way: Way | None = None


@dataclass(frozen=True, slots=True)
class Region:
    """Where a loaded sum lies between two quantiles of the players of a level, or (`outer`) outside them."""

    of: Loads
    low: float
    high: float
    outer: bool = False


@dataclass(frozen=True, slots=True)
class Estimate:
    """What is known of one quality, as a share of the kind of count that shows it best.

    `usual` is the share of the usual player of the level; `low` and `high` bound the middle 80 in 100 of what the
    share may be; `hits` out of `chances` were counted of this kind (both 0 if only other kinds spoke).
    """

    quality: str
    player: str
    wing: Wing | None
    what: str
    says: str
    usual: float
    estimate: float
    low: float
    high: float
    hits: float
    chances: float
