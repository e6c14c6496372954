"""What every repository can do with the rows of its club."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from typing import Any, ClassVar, Generic, TypeVar, cast

from sqlalchemy import ColumnElement, Connection, Select, Table, delete, insert, select, update
from sqlalchemy.exc import DataError, IntegrityError

from tacticapi.store.ids import is_id
from tacticapi.store.records import Record
from tacticapi.store.tables import Base

Kind = TypeVar("Kind", bound=Record)
Changes = Mapping[str, Any]
ROWS_AT_ONCE = 500


class Unfit(Exception):
    """A row repeats what only one may have, points to what is not there, or does not fit its columns."""


class Repository(Generic[Kind]):
    """The rows of one table that belong to one club. `key` names the column that tells its rows apart."""

    row: ClassVar[type[Base]]
    record: type[Kind]
    key: ClassVar[str] = "id"
    order: ClassVar[str] = "id"

    def __init__(self, connection: Connection, club_id: str) -> None:
        """Bind to one club for good."""
        self._connection, self.club_id = connection, club_id
        self._table = cast(Table, self.row.__table__)

    def get(self, id: str) -> Kind | None:
        """The row of this id; None where this club has none."""
        return self._first(self._mine().where(self._is(id))) if self.possible(id) else None

    def find(self, *, after: str | None = None, limit: int | None = None, **equal: Any) -> list[Kind]:
        """Rows in the order in which they were made, after an id, with these values in these columns."""
        query = self._mine(**equal)
        if after is not None:
            query = query.where(self._table.c[self.key] > after)
        return self._all(query if limit is None else query.limit(limit))

    def stream(self) -> Iterator[Kind]:
        """All rows of the club in order, a few hundred in memory at a time."""
        for row in self._connection.execute(self._mine(), execution_options={"yield_per": ROWS_AT_ONCE}):
            yield self._read(row._mapping)

    def ids(self) -> list[str]:
        """What tells the rows of the club apart, in order, without the rows."""
        columns = self._table.c
        mine = select(columns[self.key]).where(columns.club_id == self.club_id).order_by(columns[self.order])
        return list(self._connection.scalars(mine))

    def add(self, record: Kind) -> None:
        """Keep a new row. Raises Unfit."""
        self.add_all([record])

    def add_all(self, records: Iterable[Kind]) -> None:
        """Keep new rows of this club. Raises ValueError for a row of another club, else Unfit."""
        rows = [_values(record) for record in records]
        if any(row["club_id"] != self.club_id for row in rows):
            raise ValueError("a row of another club")
        if not rows:
            return
        try:
            self._connection.execute(insert(self._table), rows)
        except (DataError, IntegrityError) as error:
            raise Unfit(self._table.name) from error

    def update(self, id: str, changes: Changes) -> bool:
        """Change columns of a row; False where this club has no such row. Raises Unfit."""
        return self.possible(id) and self._change(self._is(id), changes) > 0

    def update_version(self, id: str, version: int, changes: Changes) -> bool:
        """Change columns of a row that still has this version, which grows by one; False where it has not.

        Raises Unfit.
        """
        expected = self._is(id) & (self._table.c.version == version)
        return self.possible(id) and self._change(expected, {**changes, "version": version + 1}) > 0

    def delete(self, id: str) -> bool:
        """Remove a row; False where this club has no such row."""
        return self.possible(id) and self._remove(self._is(id)) > 0

    @staticmethod
    def possible(id: str) -> bool:
        """Whether a row could have this id; the database is never asked for what could not."""
        return is_id(id)

    def _is(self, id: str) -> ColumnElement[bool]:
        return self._table.c[self.key] == id

    def _mine(self, **equal: Any) -> Select[Any]:
        columns = self._table.c
        query = select(self._table).where(columns.club_id == self.club_id).order_by(columns[self.order])
        for name, value in equal.items():
            query = query.where(columns[name] == value)
        return query

    def _first(self, query: Select[Any]) -> Kind | None:
        row = self._connection.execute(query.limit(1)).first()
        return None if row is None else self._read(row._mapping)

    def _all(self, query: Select[Any]) -> list[Kind]:
        return [self._read(row._mapping) for row in self._connection.execute(query)]

    def _change(self, which: ColumnElement[bool], changes: Changes) -> int:
        mine = self._table.c.club_id == self.club_id
        try:
            return self._connection.execute(update(self._table).where(mine, which).values(**changes)).rowcount
        except (DataError, IntegrityError) as error:
            raise Unfit(self._table.name) from error

    def _remove(self, *which: ColumnElement[bool]) -> int:
        mine = self._table.c.club_id == self.club_id
        return self._connection.execute(delete(self._table).where(mine, *which)).rowcount

    def _read(self, columns: Mapping[Any, Any]) -> Kind:
        return self.record(**columns)


def _values(record: Record) -> dict[str, Any]:
    return {field.name: getattr(record, field.name) for field in fields(record)}
