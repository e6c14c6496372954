"""Define the rows of the tables, one field per column, and their ids, which sort by time: UUID version 7 (RFC 9562)."""

import re
import secrets
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Annotated, Any
from uuid import UUID

# texts with the maximum length of their columns
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
    """A row of a club."""

    club_id: Id


@dataclass(frozen=True, slots=True)
class Club(Record):
    """A tenant. The days set how long an ended match is kept; None keeps it for good."""

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
    """A player of the club (side own) or an opponent; `former_labels` are kept, since notes may contain them.

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
    """A match; either player may have been erased. `version` counts all changes, `revision` those that affect advice.

    `updated_at` is the time of the last change, entries included. `reopenable` is true until ending the match deletes
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
    """An entry of a match; `sequence` is the revision that it created. A `body` of None withdraws the superseded entry.

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
    """Advice as it was given at a revision, and the newest revision for which it was confirmed.

    `question` is its input besides the entries; `fired` names the rules that fired.
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
    """The result of the request with this idempotency key; None until the request is complete."""

    key: Key
    request_hash: Label
    answer: Mapping[str, Any] | None
    created_at: datetime


def new_id(after: str | None = None) -> str:
    """Return a new id. It sorts after `after` and after all ids of this process, even if the clock was set back."""
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
    """Return the UUIDv7 of a tick, with a fraction of the millisecond (RFC 9562, 6.2)."""
    ms, fraction = divmod(tick, 1 << TICK_BITS)
    return UUID(int=ms << 80 | 0x7 << 76 | fraction << 64 | 0b10 << 62 | secrets.randbits(62))


def is_id(text: str) -> bool:
    """Return whether a text has the form of an id; other texts are never sent to the database."""
    return _ID.fullmatch(text) is not None
