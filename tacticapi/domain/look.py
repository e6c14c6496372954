"""A look: what seeing one more thing could say of one trait, and the ways of playing that rest on it.

Looks pass between the folders as these objects: evidence knows what may be seen, value what it would be worth.
"""

from dataclasses import dataclass

from tacticapi.domain.tactic import Tactic, TraitKey
from tacticapi.domain.terms import Wing

__all__ = ["Play", "Predictive", "TraitKey"]


@dataclass(frozen=True, slots=True)
class Predictive:
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

    def tells(self, needed: float = 1.0) -> float:
        """The share of what certainty would gain that the look does where the plan hangs on one thing, 0 to 1.

        `needed` is the likelihood ratio of holding to failing from which on the plan is another one (above nought). The
        share is largest at 1, where it is the total variation distance, and falls to either side; at 1 it also bounds
        what a look gains where the plan hangs on more: its worth is convex in a belief p, so after a look it is at most
        that of the chords from p to 0 and 1, and along these it rises by this share.
        """
        both = zip(self.holds, self.fails, strict=True)
        if needed < 1.0:
            return sum([max(0.0, fails - holds / needed) for holds, fails in both])
        return sum([max(0.0, holds - needed * fails) for holds, fails in both])


@dataclass(frozen=True, slots=True)
class Play:
    """An alternative of a tactic that needs nothing more than that these traits hold."""

    tactic: Tactic
    alternative: int
    rests_on: tuple[TraitKey, ...]
