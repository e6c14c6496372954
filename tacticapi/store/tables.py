"""Define the tables, one column per field of the record. Every key and foreign key begins with the club's id."""

import json
import zlib
from collections.abc import Mapping
from dataclasses import fields, replace
from datetime import UTC, date, datetime
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from sqlalchemy import (
    JSON,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    UniqueConstraint,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.schema import SchemaItem
from sqlalchemy.types import TypeDecorator, TypeEngine

from tacticapi.store.records import (
    PACKED,
    Answer,
    Club,
    Entry,
    Feedback,
    Match,
    ObservationEntry,
    Player,
    Record,
    Snapshot,
    Token,
)

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
    }
)


class UtcTime(TypeDecorator[datetime]):
    """An aware time, stored in UTC. SQLite has no time zones, so its values are marked as UTC when read."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Convert to UTC. Raises ValueError for a time without its time zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a time without its time zone cannot be stored")
        return value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Convert to an aware time in UTC."""
        if value is None:
            return None
        moment: datetime = value
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def packed(value: Any) -> bytes:
    """Return JSON in the compressed form of a packed column."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return zlib.compress(text.encode(), zlib.Z_BEST_COMPRESSION)


def shut(snapshot: Snapshot) -> Snapshot:
    """Return advice with its long columns packed. This takes too long to do while a lock is held."""
    long: dict[str, Any] = {name: packed(getattr(snapshot, name)) for name in ("question", "fired", "advice")}
    return replace(snapshot, **long)


class PackedJson(TypeDecorator[Any]):
    """Compressed JSON, since advice is long and repeats many words."""

    impl = LargeBinary
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> bytes:
        """Pack a value that is not packed yet."""
        return value if isinstance(value, bytes) else packed(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> Any:
        """Unpack."""
        return json.loads(zlib.decompress(value))


_PLAIN: Mapping[Any, TypeEngine[Any]] = {int: Integer(), bool: Boolean(), date: Date(), datetime: UtcTime()}


def _table(name: str, record: type[Record], *rules: SchemaItem, key: str | None = "id") -> Table:
    """Return the table of a record; its rows are deleted with their club. `key` is the primary key within a club."""
    hints = get_type_hints(record, include_extras=True)
    columns = [_column(field.name, hints[field.name], field.name in ("club_id", key)) for field in fields(record)]
    of_club = [] if record is Club else [ForeignKeyConstraint(["club_id"], ["clubs.club_id"], ondelete="CASCADE")]
    return Table(name, METADATA, *columns, *of_club, *rules)


def _column(name: str, kind: Any, is_key: bool) -> Column[Any]:
    optional = get_origin(kind) in (Union, UnionType)
    if optional:
        kind = next(one for one in get_args(kind) if one is not NoneType)
    if get_origin(kind) is Annotated:
        held = get_args(kind)[1]
        return Column(name, PackedJson() if held == PACKED else String(held), primary_key=is_key, nullable=optional)
    return Column(name, _PLAIN.get(kind) or JSON(none_as_null=True), nullable=optional)


def _of(table: str, column: str, ondelete: str | None = "CASCADE") -> ForeignKeyConstraint:
    return ForeignKeyConstraint(["club_id", column], [f"{table}.club_id", f"{table}.id"], ondelete=ondelete)


def _entries(name: str, record: type[Entry]) -> Table:
    """Return a table of entries. An entry is superseded at most once, so corrections form a chain."""
    once = (UniqueConstraint("club_id", "match_id", column) for column in ("sequence", "supersedes"))
    return _table(name, record, _of("matches", "match_id"), *once)


CLUBS = _table("clubs", Club, key=None)
TOKENS = _table("tokens", Token)
PLAYERS = _table(
    "players",
    Player,
    UniqueConstraint("club_id", "side", "label"),
    Index(None, "club_id", "external_id", unique=True),
    CheckConstraint("side IN ('own', 'opponent')", name="side"),
)
MATCHES = _table(
    "matches",
    Match,
    _of("players", "own_id", ondelete=None),
    _of("players", "opponent_id", ondelete=None),
    CheckConstraint("status IN ('open', 'ended')", name="status"),
    Index(None, "club_id", "opponent_id"),
    Index(None, "club_id", "own_id"),
    Index(None, "club_id", "external_id", unique=True),
)
OBSERVATIONS = _entries("observations", ObservationEntry)
POINTS = _entries("points", Entry)
TRIES = _entries("tries", Entry)
SNAPSHOTS = _table("snapshots", Snapshot, _of("matches", "match_id"), Index(None, "club_id", "match_id"))
FEEDBACK = _table("feedback", Feedback, _of("snapshots", "snapshot_id"), Index(None, "club_id", "snapshot_id"))
ANSWERS = _table("answers", Answer, key="key")
