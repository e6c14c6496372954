"""A way of playing that rests on traits."""

from dataclasses import dataclass

from tacticapi.domain.tactic import Tactic, TraitKey

__all__ = ["Play", "TraitKey"]


@dataclass(frozen=True, slots=True)
class Play:
    """An alternative of a tactic that needs nothing more than that these traits hold."""

    tactic: Tactic
    alternative: int
    rests_on: tuple[TraitKey, ...]
