"""Define the tables, one column per field of the record. Every key and foreign key begins with the club's id."""

import json
import zlib
from collections.abc import Mapping
from dataclasses import fields, replace
from datetime import UTC, date, datetime
from types import NoneType, UnionType
from typing import Annotated, Any, Union, cast, get_args, get_origin, get_type_hints

import sqlalchemy as sa
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator, TypeEngine

from tacticapi.store import records
from tacticapi.store.records import Answer, Club, Entry, Feedback, Match, Player, Record, Snapshot, Token

METADATA = sa.MetaData(
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

    impl = sa.DateTime(timezone=True)
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
        return cast(datetime, value.replace(tzinfo=value.tzinfo or UTC).astimezone(UTC))


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

    impl = sa.LargeBinary
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> bytes:
        """Pack a value that is not packed yet."""
        return value if isinstance(value, bytes) else packed(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> Any:
        """Unpack."""
        return json.loads(zlib.decompress(value))


_PLAIN: Mapping[Any, TypeEngine[Any]] = {int: sa.Integer(), bool: sa.Boolean(), date: sa.Date(), datetime: UtcTime()}


def _table(name: str, record: type[Record], *rules: sa.schema.SchemaItem, key: str | None = "id") -> sa.Table:
    """Return the table of a record; its rows are deleted with their club. `key` is the primary key within a club."""
    hints = get_type_hints(record, include_extras=True)
    columns = [_column(field.name, hints[field.name], field.name in ("club_id", key)) for field in fields(record)]
    if record is not Club:
        rules = (sa.ForeignKeyConstraint(["club_id"], ["clubs.club_id"], ondelete="CASCADE"), *rules)
    return sa.Table(name, METADATA, *columns, *rules)


def _column(name: str, kind: Any, is_key: bool) -> sa.Column[Any]:
    optional = get_origin(kind) in (Union, UnionType)
    if optional:
        kind = next(one for one in get_args(kind) if one is not NoneType)
    if get_origin(kind) is Annotated:
        held = get_args(kind)[1]
        stored = PackedJson() if held == records.PACKED else sa.String(held)
        return sa.Column(name, stored, primary_key=is_key, nullable=optional)
    return sa.Column(name, _PLAIN.get(kind) or sa.JSON(none_as_null=True), nullable=optional)


def _of(table: str, column: str, ondelete: str | None = "CASCADE") -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(["club_id", column], [f"{table}.club_id", f"{table}.id"], ondelete=ondelete)


def _entries(name: str, record: type[Entry]) -> sa.Table:
    """Return a table of entries. An entry is superseded at most once, so corrections form a chain."""
    once = (sa.UniqueConstraint("club_id", "match_id", column) for column in ("sequence", "supersedes"))
    return _table(name, record, _of("matches", "match_id"), *once)


CLUBS = _table("clubs", Club, key=None)
TOKENS = _table("tokens", Token)
PLAYERS = _table(
    "players",
    Player,
    sa.UniqueConstraint("club_id", "side", "label"),
    sa.Index(None, "club_id", "external_id", unique=True),
    sa.CheckConstraint("side IN ('own', 'opponent')", name="side"),
)
MATCHES = _table(
    "matches",
    Match,
    _of("players", "own_id", ondelete=None),
    _of("players", "opponent_id", ondelete=None),
    sa.CheckConstraint("status IN ('open', 'ended')", name="status"),
    sa.Index(None, "club_id", "opponent_id"),
    sa.Index(None, "club_id", "own_id"),
    sa.Index(None, "club_id", "external_id", unique=True),
)
OBSERVATIONS = _entries("observations", records.ObservationEntry)
POINTS = _entries("points", Entry)
TRIES = _entries("tries", Entry)
SNAPSHOTS = _table("snapshots", Snapshot, _of("matches", "match_id"), sa.Index(None, "club_id", "match_id"))
FEEDBACK = _table("feedback", Feedback, _of("snapshots", "snapshot_id"), sa.Index(None, "club_id", "snapshot_id"))
ANSWERS = _table("answers", Answer, key="key")
