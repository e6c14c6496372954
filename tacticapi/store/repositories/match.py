"""Matches and their entries."""

from collections.abc import Collection
from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy import or_, select

from tacticapi.store.ids import is_id
from tacticapi.store.records import Entry, Match, ObservationEntry
from tacticapi.store.repositories.base import Repository
from tacticapi.store.tables import MatchRow, ObservationRow, PointRow, TryRow

EntryKind = TypeVar("EntryKind", bound=Entry)


class Matches(Repository[Match]):
    """Matches of the club."""

    row, record = MatchRow, Match

    def locked(self, id: str) -> Match | None:
        """The match, with every other writer of it kept waiting until this unit of work ends."""
        return self._first(self._mine(id=id).with_for_update()) if is_id(id) else None

    def of_player(self, player_id: str) -> list[Match]:
        """The matches in which a player stands on either side."""
        columns = self._table.c
        return self._all(self._mine().where(or_(columns.own_id == player_id, columns.opponent_id == player_id)))

    def revision(self, id: str) -> int | None:
        """The revision of a match, without the rest of it; None where this club has no such match."""
        columns = self._table.c
        mine = select(columns.revision).where(columns.club_id == self.club_id, columns.id == id)
        return self._connection.scalar(mine) if is_id(id) else None

    def touch(self, ids: Collection[str]) -> int:
        """Raise the revision of matches, since something that is told of them has changed; says how many."""
        columns = self._table.c
        return self._change(columns.id.in_(ids), {"revision": columns.revision + 1}) if ids else 0

    def touch_of_player(self, player_id: str) -> int:
        """Raise the revision of a player's matches, since what is known of the player has changed."""
        columns = self._table.c
        theirs = or_(columns.own_id == player_id, columns.opponent_id == player_id)
        return self._change(theirs, {"revision": columns.revision + 1})

    def started_before(self, moment: datetime, status: str) -> list[Match]:
        """Matches of a status that started before a moment."""
        return self._all(self._mine(status=status).where(self._table.c.started_at < moment))


class Entries(Repository[EntryKind]):
    """Entries of the club's matches, in the order in which they were made."""

    order = "sequence"

    def of_match(self, match_id: str, **equal: Any) -> list[EntryKind]:
        """The entries of a match, superseded ones included."""
        return self._all(self._mine(match_id=match_id, **equal))

    def page(self, match_id: str, after: int = 0, limit: int = 100, **equal: Any) -> list[EntryKind]:
        """At most `limit` entries of a match after a sequence number, with these values in these columns."""
        return self._all(self._mine(match_id=match_id, **equal).where(self._table.c.sequence > after).limit(limit))

    def successor(self, match_id: str, id: str) -> EntryKind | None:
        """The entry that supersedes this one, if any."""
        return self._first(self._mine(match_id=match_id, supersedes=id))

    def delete_ids(self, ids: Collection[str]) -> int:
        """Remove entries for good; says how many."""
        return self._remove(self._table.c.id.in_(ids)) if ids else 0


class Observations(Entries[ObservationEntry]):
    """Things seen."""

    row, record = ObservationRow, ObservationEntry


class Points(Entries[Entry]):
    """Points and scores set by hand."""

    row, record = PointRow, Entry


class Tries(Entries[Entry]):
    """Tries of tactics."""

    row, record = TryRow, Entry
