"""A look: what seeing one more thing could say of one trait, and the ways of playing that rest on it.

Looks pass between the folders as these objects: evidence knows what may be seen, value what it would be worth.
"""

from dataclasses import dataclass

from tacticapi.domain.tactic import Tactic
from tacticapi.domain.terms import Wing

TraitKey = tuple[str, Wing | None]
"""A trait, and the wing where it has one belief a wing."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """All that a look at one kind can show about one trait, given what has been seen of that kind so far.

    `holds` and `fails` are the chances of each possible outcome if the trait holds and if it does not; each sums
    to 1. `wing` belongs to the trait, `on_wing` is the wing on which to look (None: either).
    """

    what: str
    trait: str
    wing: Wing | None
    on_wing: Wing | None
    holds: tuple[float, ...]
    fails: tuple[float, ...]

    @property
    def key(self) -> TraitKey:
        """The belief that the look can move."""
        return self.trait, self.wing


@dataclass(frozen=True, slots=True)
class Play:
    """An alternative of a tactic that needs nothing more than that these traits hold."""

    tactic: Tactic
    alternative: int
    rests_on: tuple[TraitKey, ...]
