"""Query the tables within a unit of work. A repository is bound to one club and cannot access any other."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import datetime
from functools import cache
from importlib import import_module
from typing import Any, ClassVar, Generic, Self, TypeVar

import sqlalchemy as sa
from sqlalchemy.exc import DataError, IntegrityError

from tacticapi.store import tables
from tacticapi.store.engine import READ_ONLY, is_sqlite
from tacticapi.store.tables import Answer, Club, Entry, Feedback, Match, Player, Record, Snapshot, Token
from tacticapi.store.upkeep import SCHEMA, found_schema, schema_fault

Kind = TypeVar("Kind", bound=Record)
Changes = Mapping[str, Any]
ROWS_AT_ONCE = 500


class ConstraintViolation(Exception):
    """A row breaks a unique constraint, refers to a missing row, or does not fit its columns."""


class SchemaMismatch(Exception):
    """The schema belongs to another version, so this version must not write; the message says how to fix it."""


@cache
def _rows(table: sa.Table, order: str, names: tuple[str, ...]) -> sa.Select[Any]:
    """Return a club's query by columns, with parameters named like them, built once as that takes longest."""
    equal = (table.c[name] == sa.bindparam(name) for name in ("club_id", *names))
    return sa.select(table).where(*equal).order_by(table.c[order])


class Repository(Generic[Kind]):
    """One club's rows in one table. `key` names the column that identifies a row."""

    key: ClassVar[str] = "id"
    order: ClassVar[str] = "id"

    def __init__(self, connection: sa.Connection, club_id: str, table: sa.Table, record: type[Kind]) -> None:
        self._connection, self.club_id, self.table, self.record = connection, club_id, table, record

    @property
    def _mine(self) -> sa.ColumnElement[bool]:
        return self.table.c.club_id == self.club_id

    def get(self, id: str) -> Kind | None:
        """Return the row with this id; None if this club has none."""
        return self._first(self._rows(self.key), **{self.key: id}) if self._may_be(id) else None

    def find(
        self, *which: sa.ColumnElement[bool], after: str | int | None = None, limit: int | None = None, **equal: Any
    ) -> list[Kind]:
        """Return rows in order, after this id or sequence number, with the given column values (none is None)."""
        query = self._rows(*equal).where(*which) if which else self._rows(*equal)
        if after is not None:
            query = query.where(self.table.c[self.order] > after)
        return self._all(query if limit is None else query.limit(limit), **equal)

    def stream(self) -> Iterator[Kind]:
        """Yield all the club's rows in order, keeping a few hundred in memory at a time."""
        for row in self._connection.execute(self._select(), execution_options={"yield_per": ROWS_AT_ONCE}):
            yield self.record(**row._mapping)

    def ids(self) -> list[str]:
        """Return the keys of the club's rows, in order."""
        return list(self._connection.scalars(self._select(self.table.c[self.key])))

    def new_id(self) -> str:
        """Return an id that sorts after the ids of all the club's rows."""
        return tables.new_id(self._connection.scalar(self._select(sa.func.max(self.table.c.id)).order_by(None)))

    def add(self, record: Kind) -> None:
        """Add a new row. Raises ConstraintViolation."""
        self.add_all([record])

    def add_all(self, records: Iterable[Kind]) -> None:
        """Add new rows of this club. Raises ValueError for another club's row, or ConstraintViolation."""
        rows = [{column.name: getattr(record, column.name) for column in self.table.columns} for record in records]
        if any(row["club_id"] != self.club_id for row in rows):
            raise ValueError("a row of another club")
        if not rows:
            return
        self._write(sa.insert(self.table), rows)

    def update(self, id: str, changes: Changes, **was: Any) -> bool:
        """Change columns of a row; return False if no row has this id and these values. Raises ConstraintViolation."""
        unchanged = (self.table.c[name] == value for name, value in was.items())
        return self._change([self._is(id), *unchanged], changes) > 0

    def update_all(self, changes: Mapping[str, Changes]) -> None:
        """Change the same columns in several rows, given by their ids."""
        which = sa.update(self.table).where(self._mine, self.table.c[self.key] == sa.bindparam("changed"))
        if rows := [{"changed": id, **values} for id, values in changes.items()]:
            self._connection.execute(which, rows)

    def update_version(self, id: str, version: int, changes: Changes) -> bool:
        """Change a row and increment its version; return False if none has this version. Raises ConstraintViolation."""
        return self.update(id, {**changes, "version": version + 1}, version=version)

    def delete(self, id: str) -> bool:
        """Delete a row; return False if this club has no such row."""
        return self._remove(self._is(id)) > 0

    def delete_ids(self, ids: Collection[str]) -> int:
        """Delete rows for good; return how many."""
        return self._remove(self.table.c[self.key].in_(ids)) if ids else 0

    def _is(self, id: str) -> sa.ColumnElement[bool]:
        return self.table.c[self.key] == id if self._may_be(id) else sa.false()

    def _may_be(self, id: str) -> bool:
        """Return whether an id has a valid form; an invalid one never reaches the database."""
        return self.key == "key" or tables.is_id(id)

    def _rows(self, *names: str) -> sa.Select[Any]:
        return _rows(self.table, self.order, names)

    def _select(self, *what: Any, **equal: Any) -> sa.Select[Any]:
        """Return the query for the club's rows (or `what` of them) with the given column values, in order."""
        columns = self.table.c
        wanted = (columns[name] == value for name, value in equal.items())
        return sa.select(*what or [self.table]).where(self._mine, *wanted).order_by(columns[self.order])

    def _first(self, query: sa.Select[Any], **equal: Any) -> Kind | None:
        return next(iter(self._all(query, **equal)), None)

    def _all(self, query: sa.Select[Any], **equal: Any) -> list[Kind]:
        names = self.table.c.keys()
        rows = self._connection.execute(query, {"club_id": self.club_id, **equal})
        return [self.record(**dict(zip(names, row, strict=True))) for row in rows]

    def _change(self, which: Iterable[sa.ColumnElement[bool]], changes: Changes) -> int:
        return self._write(sa.update(self.table).where(self._mine, *which).values(**changes)).rowcount

    def _write(self, statement: sa.Executable, rows: list[dict[str, Any]] | None = None) -> sa.CursorResult[Any]:
        try:
            return self._connection.execute(statement, rows)
        except (DataError, IntegrityError) as error:
            raise ConstraintViolation(self.table.name) from error

    def _remove(self, which: sa.ColumnElement[bool]) -> int:
        return self._connection.execute(sa.delete(self.table).where(self._mine, which)).rowcount


class Clubs(Repository[Club]):
    """This unit of work's club."""

    key = order = "club_id"


class Tokens(Repository[Token]):
    """The club's tokens."""

    def delete_dead(self, before: datetime) -> int:
        """Delete tokens that expired or were revoked before this time; return how many."""
        columns = self.table.c
        return self._remove(sa.or_(columns.expires_at < before, columns.revoked_at < before))


EntryKind = TypeVar("EntryKind", bound=Entry)


class Listed(Repository[Kind]):
    """Rows that can be listed by creation time or last change."""

    def sorted_page(
        self,
        *,
        sort: str = "created_at",
        after: str | None = None,
        at: datetime | None = None,
        since: datetime | None = None,
        limit: int,
        **equal: Any,
    ) -> list[Kind]:
        """Return rows by `created_at` or `updated_at` (minus: newest first), after the row with this id and time.

        With `since`, return only rows changed at that time or later.
        """
        columns, name, newest_first = self.table.c, sort.removeprefix("-"), sort.startswith("-")
        keys = [columns.id] if name == "created_at" else [columns[name], columns.id]  # ids sort by time
        query = self._select(**equal).order_by(None).order_by(*(key.desc() if newest_first else key for key in keys))
        if after is not None:
            held = [after] if name == "created_at" else [at, after]
            place = sa.tuple_(*(sa.literal(value, key.type) for value, key in zip(held, keys, strict=True)))
            query = query.where(sa.tuple_(*keys) < place if newest_first else sa.tuple_(*keys) > place)
        if since is not None:
            query = query.where(columns.updated_at >= since)
        return self._all(query.limit(limit))


class Matches(Listed[Match]):
    """The club's matches."""

    def locked(self, id: str) -> Match | None:
        """Return the match, locked against other writers until this unit of work ends."""
        return self._first(self._rows("id").with_for_update(), id=id) if self._may_be(id) else None

    def advance(self, match: Match, changes: Changes, now: datetime) -> None:
        """Make a change to a match that affects its advice."""
        counts = {"version": match.version + 1, "revision": match.revision + 1, "updated_at": now}
        self.update(match.id, {**changes, **counts})

    def of_player(self, player_id: str) -> list[Match]:
        """Return a player's matches, on either side."""
        columns = self.table.c
        return self.find(sa.or_(columns.own_id == player_id, columns.opponent_id == player_id))

    def revision(self, id: str) -> int | None:
        """Return only a match's revision; None if this club has no such match."""
        found: int | None = self._connection.scalar(self._select(self.table.c.revision).where(self._is(id)))
        return found

    def touch(self, ids: Collection[str]) -> None:
        """Increment the revision of matches whose responses have changed."""
        self._change([self.table.c.id.in_(ids)], {"revision": self.table.c.revision + 1})

    def player_ids(self) -> set[str]:
        """Return the ids of all players who have a match."""
        pairs = self._connection.execute(self._select(self.table.c.own_id, self.table.c.opponent_id))
        return {id for pair in pairs for id in pair if id}


class OfMatch(Repository[Kind]):
    """Rows that belong to a match."""

    def of_match(self, match_id: str, **wanted: Any) -> list[Kind]:
        """Return those of a match's rows that `find` returns for `wanted`, including superseded entries."""
        return self.find(match_id=match_id, **wanted)

    def count(self, match_id: str) -> int:
        """Return a match's number of rows."""
        rows = self._select(sa.func.count()).where(self._of(match_id))
        return self._connection.scalar(rows.order_by(None)) or 0

    def delete_newest(self, match_id: str, most: int) -> int:
        """Delete up to `most` of a match's newest rows and the rows that refer to them; return how many."""
        rows = self._select(self.table.c.id).where(self._of(match_id))
        newest_first = rows.order_by(None).order_by(self.table.c[self.order].desc())
        return self.delete_ids(list(self._connection.scalars(newest_first.limit(most))))

    def _of(self, match_id: str) -> sa.ColumnElement[bool]:
        return self.table.c.match_id == match_id


class Entries(OfMatch[EntryKind]):
    """Entries in the club's matches, in sequence."""

    order = "sequence"


class Snapshots(OfMatch[Snapshot]):
    """Stored advice."""

    def latest(self, match_id: str) -> Snapshot | None:
        """Return a match's newest snapshot."""
        newest_first = self._rows("match_id").order_by(None).order_by(self.table.c.id.desc())
        return self._first(newest_first.limit(1), match_id=match_id)

    def delete_beyond(self, match_id: str, most: int) -> int:
        """Delete a match's oldest snapshots without feedback until `most` are left; return how many."""
        beyond = self.count(match_id) - most
        if beyond <= 0:
            return 0
        told = sa.select(tables.FEEDBACK.c.snapshot_id).where(tables.FEEDBACK.c.club_id == self.club_id)
        silent = self._select(self.table.c.id, match_id=match_id).where(self.table.c.id.not_in(told))
        return self.delete_ids(list(self._connection.scalars(silent.limit(beyond))))


class FeedbackLines(OfMatch[Feedback]):
    """Feedback on the suggestions in a match's snapshots."""

    def of_match(self, match_id: str, **wanted: Any) -> list[Feedback]:
        """Return the feedback on a match's snapshots, as `find` does for `wanted`."""
        return self.find(self._of(match_id), **wanted)

    def _of(self, match_id: str) -> sa.ColumnElement[bool]:
        ours = sa.select(tables.SNAPSHOTS.c.id).filter_by(club_id=self.club_id, match_id=match_id)
        return self.table.c.snapshot_id.in_(ours)


class Answers(Repository[Answer]):
    """Results of requests that had an idempotency key."""

    key = order = "key"

    def claim(self, key: str, request_hash: str, now: datetime) -> Answer | None:
        """Claim a key; return None if it was free, else the result stored under it. Raises ConstraintViolation."""
        dialect = import_module(f"sqlalchemy.dialects.{self._connection.dialect.name}")
        values = {"club_id": self.club_id, "key": key, "request_hash": request_hash, "created_at": now}
        insert = dialect.insert(self.table).values(**values).on_conflict_do_nothing()
        taken = self._write(insert.returning(self.table.c.key)).first()
        return None if taken else self.get(key)

    def forget_requests(self) -> None:
        """Delete the stored request for every key; keep the results."""
        self._change([self.table.c.request_hash != ""], {"request_hash": ""})

    def delete_before(self, moment: datetime) -> int:
        """Delete the keys received before this time; return how many."""
        return self._remove(self.table.c.created_at < moment)


class UnitOfWork:
    """A transaction for one club. On exit, all changes are committed or, after an error, rolled back.

    A read-only unit sees one consistent state of the database and does not block writers. A writing unit raises
    SchemaMismatch if another version has changed the schema.
    """

    def __init__(self, engine: sa.Engine, club_id: str, *, read_only: bool = False) -> None:
        self.engine, self.club_id, self.read_only = engine, club_id, read_only

    def __enter__(self) -> Self:
        self._connection = _connect(self.engine, self.read_only)
        try:
            self._transaction = self._connection.begin()
            if not self.read_only and (found := found_schema(self._connection)) != SCHEMA:
                raise SchemaMismatch(schema_fault(found))
        except BaseException:
            self._connection.close()
            raise
        bound = (self._connection, self.club_id)
        self.clubs = Clubs(*bound, tables.CLUBS, Club)
        self.tokens = Tokens(*bound, tables.TOKENS, Token)
        self.players = Listed(*bound, tables.PLAYERS, Player)
        self.matches = Matches(*bound, tables.MATCHES, Match)
        self.observations = Entries(*bound, tables.OBSERVATIONS, tables.ObservationEntry)
        self.points, self.tries = Entries(*bound, tables.POINTS, Entry), Entries(*bound, tables.TRIES, Entry)
        self.snapshots = Snapshots(*bound, tables.SNAPSHOTS, Snapshot)
        self.feedback = FeedbackLines(*bound, tables.FEEDBACK, Feedback)
        self.answers = Answers(*bound, tables.ANSWERS, Answer)
        return self

    def __exit__(self, error: type[BaseException] | None, *raised: object) -> None:
        with self._connection:
            if error is None and not self.read_only:
                self._transaction.commit()


def club_ids(engine: sa.Engine) -> list[str]:
    """Return the ids of all clubs, except clubs that are being imported."""
    with _connect(engine, read_only=True) as connection:
        whole = sa.select(tables.CLUBS.c.club_id).where(tables.CLUBS.c.version > 0)
        return list(connection.scalars(whole.order_by(tables.CLUBS.c.club_id)))


def any_token(engine: sa.Engine) -> bool:
    """Return whether any club has a token, live or dead; tokens for a single match do not count."""
    of_the_club = sa.cast(tables.TOKENS.c.scopes, sa.String).not_like("%:%")
    with _connect(engine, read_only=True) as connection:
        return connection.scalar(sa.select(tables.TOKENS.c.id).where(of_the_club).limit(1)) is not None


def _connect(engine: sa.Engine, read_only: bool) -> sa.Connection:
    connection = engine.connect()
    if not read_only:
        return connection
    if is_sqlite(engine):
        return connection.execution_options(**{READ_ONLY: True})
    return connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
