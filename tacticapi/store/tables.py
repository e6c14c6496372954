"""Define the rows, their ids and their tables. Each dataclass field is a column; every key starts with the club's id.

Ids sort by time: UUID version 7 (RFC 9562).
"""

import json
import re
import secrets
import time
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import UTC, date, datetime
from types import NoneType, UnionType
from typing import Annotated, Any, Union, cast, get_args, get_origin, get_type_hints
from uuid import UUID

import sqlalchemy as sa
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator, TypeEngine

# strings with the maximum length of their columns
Id = Annotated[str, 36]
Word = Annotated[str, 40]
Digest = Annotated[str, 64]
ExternalId = Annotated[str, 64]
Label = Annotated[str, 100]
Key = Annotated[str, 255]
Reason = Annotated[str, 500]
PACKED = "packed"
Packed = Annotated[Mapping[str, Any], PACKED]  # JSON, compressed
Names = Annotated[Sequence[str], PACKED]
UNKNOWN_TIME = datetime(1970, 1, 1, tzinfo=UTC)
NS_PER_MS = 1_000_000
TICK_BITS = 12  # bits for the fraction of a millisecond in an id
MAX_TICK = 1 << 60
_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")


@dataclass(frozen=True, slots=True)
class Record:
    """A row that belongs to a club."""

    club_id: Id


@dataclass(frozen=True, slots=True)
class Club(Record):
    """A tenant. The days set how long a finished match is kept; None means forever."""

    label: Label
    keep_days: int | None
    keep_days_under_18: int | None
    version: int
    created_at: datetime


@dataclass(frozen=True, slots=True)
class Token(Record):
    """A credential; `digest` is the SHA-256 of its secret in hex. The secret itself is never stored."""

    id: Id
    label: Label
    digest: Digest
    scopes: Sequence[str]
    created_at: datetime
    expires_at: datetime | None = None
    revoked_at: datetime | None = None
    last_used: date | None = None


@dataclass(frozen=True, slots=True)
class Player(Record):
    """One of the club's players (side own) or an opponent; `former_labels` are kept because notes may contain them.

    `external_id` is the club's own id.
    """

    id: Id
    side: Word
    label: Label
    facts: Mapping[str, Any]
    age_band: Word | None
    version: int
    created_at: datetime
    updated_at: datetime
    former_labels: Sequence[str] = ()
    external_id: ExternalId | None = None


@dataclass(frozen=True, slots=True)
class Match(Record):
    """A match; either player may have been erased. `version` counts all changes, `revision` changes that affect advice.

    `updated_at` is the time of the last change, including entries. `reopenable` is true until ending the match deletes
    health items.
    """

    id: Id
    own_id: Id | None
    opponent_id: Id | None
    context: Mapping[str, Any]
    own_facts: Mapping[str, Any]
    opponent_facts: Mapping[str, Any]
    first_server: Word | None
    status: Word
    started_at: datetime
    ended_at: datetime | None
    version: int
    revision: int
    created_at: datetime
    earlier: Sequence[Any] = ()
    external_id: ExternalId | None = None
    updated_at: datetime = UNKNOWN_TIME
    reopenable: bool = False


@dataclass(frozen=True, slots=True)
class Entry(Record):
    """An entry in a match; `sequence` is the revision that it created. A `body` of None withdraws the superseded entry.

    `observed_at` is the time of the observation, if posted.
    """

    id: Id
    match_id: Id
    sequence: int
    supersedes: Id | None
    body: Mapping[str, Any] | None
    recorded_at: datetime
    observed_at: datetime | None = field(default=None, kw_only=True)


@dataclass(frozen=True, slots=True)
class ObservationEntry(Entry):
    """An observation, with kind, set and game taken from its body."""

    kind: Label
    set_number: int | None
    game_number: int | None


@dataclass(frozen=True, slots=True)
class Snapshot(Record):
    """Advice as given at a revision, and the newest revision for which it was confirmed.

    `question` is its input apart from the entries; `fired` names the rules that fired.
    """

    id: Id
    match_id: Id
    moment: Word
    revision: int
    confirmed: int
    question: Packed
    rulebook_version: Label
    rulebook_digest: Label
    fired: Names
    advice: Packed
    health_removed: bool
    created_at: datetime


@dataclass(frozen=True, slots=True)
class Feedback(Record):
    """Feedback on one suggestion of a snapshot."""

    id: Id
    snapshot_id: Id
    tactic: Label
    kind: Word
    reason: Reason | None
    created_at: datetime


@dataclass(frozen=True, slots=True)
class Answer(Record):
    """The result of the request with this idempotency key; None until that request is complete."""

    key: Key
    request_hash: Label
    answer: Mapping[str, Any] | None
    created_at: datetime


def new_id(after: str | None = None) -> str:
    """Return a new id. It sorts after `after` and all ids that this process created, even if the clock was set back."""
    global _newest  # noqa: PLW0603  (the ids of one process form one sequence)
    known = [_newest, *([_tick(after)] if after is not None else [])]
    _newest = max(ticks(time.time_ns()), *(tick + 1 for tick in known if tick + 1 < MAX_TICK))
    return str(uuid7(_newest))


_newest = 0


def ticks(unix_ns: int) -> int:
    """Convert nanoseconds since 1970 to ticks, the time unit of ids."""
    return (unix_ns << TICK_BITS) // NS_PER_MS


def _tick(id: str) -> int:
    bits = UUID(id).int
    return bits >> 80 << TICK_BITS | bits >> 64 & ((1 << TICK_BITS) - 1)


def uuid7(tick: int) -> UUID:
    """Return the UUIDv7 for a tick, with a fraction of a millisecond (RFC 9562, 6.2)."""
    ms, fraction = divmod(tick, 1 << TICK_BITS)
    return UUID(int=ms << 80 | 0x7 << 76 | fraction << 64 | 0b10 << 62 | secrets.randbits(62))


def is_id(text: str) -> bool:
    """Return whether a string has the form of an id; other strings are never sent to the database."""
    return _ID.fullmatch(text) is not None


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
    """A timezone-aware time, stored in UTC. SQLite has no time zones, so its values are marked as UTC when read."""

    impl = sa.DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Convert to UTC. Raises ValueError for a time without a time zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a time without its time zone cannot be stored")
        return value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Convert to a timezone-aware time in UTC."""
        if value is None:
            return None
        return cast(datetime, value.replace(tzinfo=value.tzinfo or UTC).astimezone(UTC))


def packed(value: Any) -> bytes:
    """Return JSON in the compressed form that packed columns use."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return zlib.compress(text.encode(), zlib.Z_BEST_COMPRESSION)


def shut(snapshot: Snapshot) -> Snapshot:
    """Return advice with its long columns packed. This is too slow to do while holding a lock."""
    long: dict[str, Any] = {name: packed(getattr(snapshot, name)) for name in ("question", "fired", "advice")}
    return replace(snapshot, **long)


class PackedJson(TypeDecorator[Any]):
    """Compressed JSON, because advice is long and repeats many words."""

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
    """Return a record's table; its rows are deleted with their club. `key` is the primary key within a club."""
    hints = get_type_hints(record, include_extras=True)
    columns = [_column(one.name, hints[one.name], one.name in ("club_id", key)) for one in fields(record)]
    if record is not Club:
        rules = (sa.ForeignKeyConstraint(["club_id"], ["clubs.club_id"], ondelete="CASCADE"), *rules)
    return sa.Table(name, METADATA, *columns, *rules)


def _column(name: str, kind: Any, is_key: bool) -> sa.Column[Any]:
    optional = get_origin(kind) in (Union, UnionType)
    if optional:
        kind = next(one for one in get_args(kind) if one is not NoneType)
    if get_origin(kind) is Annotated:
        held = get_args(kind)[1]
        stored = PackedJson() if held == PACKED else sa.String(held)
        return sa.Column(name, stored, primary_key=is_key, nullable=optional)
    return sa.Column(name, _PLAIN.get(kind) or sa.JSON(none_as_null=True), nullable=optional)


def _of(table: str, column: str, ondelete: str | None = "CASCADE") -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(["club_id", column], [f"{table}.club_id", f"{table}.id"], ondelete=ondelete)


def _entries(name: str, record: type[Entry]) -> sa.Table:
    """Return a table of entries. Each entry is superseded at most once, so corrections form a chain."""
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
OBSERVATIONS = _entries("observations", ObservationEntry)
POINTS = _entries("points", Entry)
TRIES = _entries("tries", Entry)
SNAPSHOTS = _table("snapshots", Snapshot, _of("matches", "match_id"), sa.Index(None, "club_id", "match_id"))
FEEDBACK = _table("feedback", Feedback, _of("snapshots", "snapshot_id"), sa.Index(None, "club_id", "snapshot_id"))
ANSWERS = _table("answers", Answer, key="key")
