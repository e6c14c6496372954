"""The observation vocabulary: what can be seen, and how it may be said."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tacticapi.domain.profile import Measure
from tacticapi.domain.terms import Phase, Way


@dataclass(frozen=True, slots=True)
class ObservationKind:
    """One thing that can be seen.

    `subject` is the first part of the id (context, own, opponent, warmup, serve, ...). Items of context, own
    and opponent are keys of those objects in a request; all others are posted as observations.
    `ways` lists the accepted ways; `options` are the words for value and counts; `unit`, `low` and `high`
    bound an amount. `qualifiers` maps wing, court, serve to "optional" or "required".
    `needs_end` marks counts that wind or sun spoil unless they carry the end. `starter` is the place in the
    starter set (1 first), None outside it. `probe` says how to get to see it. `unused_because` explains why no trait
    and no tactic asks for it, where none does. `measures` is what it says of the profile; `same_as` names a kind under
    which the same balls may be posted.
    """

    id: str
    title: str
    asks: str
    says: str
    ways: tuple[Way, ...]
    phases: tuple[Phase, ...]
    options: tuple[str, ...] = ()
    unit: str | None = None
    low: float | None = None
    high: float | None = None
    qualifiers: Mapping[str, str] = field(default_factory=dict)
    trap: str | None = None
    probe: str | None = None
    starter: int | None = None
    needs_end: bool = False
    health: bool = False
    unused_because: str | None = None
    measures: tuple[Measure, ...] = ()
    same_as: str | None = None

    @property
    def subject(self) -> str:
        """The part of the id before the dot."""
        return self.id.partition(".")[0]

    @property
    def key(self) -> str:
        """The part of the id after the dot."""
        return self.id.partition(".")[2]
