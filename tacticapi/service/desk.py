"""What every use case needs: the store, the rules, the time."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from tacticapi.domain.rulebook import Rulebook
from tacticapi.store import Engine, UnitOfWork

if TYPE_CHECKING:  # numpy and scipy come with it, and most use cases need neither
    from tacticapi.advice import Adviser


def utc_now() -> datetime:
    """The time, aware, in UTC."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Desk:
    """One a process. `now` gives an aware time."""

    engine: Engine
    adviser: "Adviser"
    now: Callable[[], datetime] = utc_now

    @property
    def rulebook(self) -> Rulebook:
        """The rules that this process answers by."""
        return self.adviser.rulebook

    def work(self, club_id: str) -> UnitOfWork:
        """A unit of work that changes something."""
        return UnitOfWork(self.engine, club_id)

    def reading(self, club_id: str) -> UnitOfWork:
        """A unit of work that only reads, and sees one state throughout."""
        return UnitOfWork(self.engine, club_id, read_only=True)
