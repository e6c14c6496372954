"""The tables. Every one has a club, and every key and foreign key begins with it.

Entries are only ever added. One type holds moments alike on both engines.
"""

from datetime import UTC, date, datetime
from typing import Any, ClassVar

from sqlalchemy import (
    JSON,
    CheckConstraint,
    DateTime,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    MetaData,
    String,
    UniqueConstraint,
)
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column
from sqlalchemy.schema import SchemaItem
from sqlalchemy.types import TypeDecorator

ID = String(36)
WORD = String(40)
LABEL = String(100)
NAMES = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
}


class UtcTime(TypeDecorator[datetime]):
    """An aware moment, kept in UTC. SQLite has no time zones, so what comes back is marked as UTC there."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To UTC. Raises ValueError for a moment without a time zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without a time zone cannot be kept")
        return value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """To an aware moment in UTC."""
        if value is None:
            return None
        moment: datetime = value
        return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


class Base(DeclarativeBase):
    """All tables."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        datetime: UtcTime(),
        dict[str, Any]: JSON(none_as_null=True),
        list[str]: JSON(none_as_null=True),
        list[Any]: JSON(none_as_null=True),
    }


class ClubTable(Base):
    """A table whose rows belong to a club."""

    __abstract__ = True

    @declared_attr
    def club_id(cls) -> Mapped[str]:
        """Return the club; its rows go with it."""
        return mapped_column(ID, ForeignKey("clubs.club_id", ondelete="CASCADE"), primary_key=True, sort_order=-2)


class KeptRow(ClubTable):
    """A row with an id of its own."""

    __abstract__ = True

    id: Mapped[str] = mapped_column(ID, primary_key=True, sort_order=-1)


class ClubRow(Base):
    """A tenant, with how long it keeps what was seen (days; null keeps for good)."""

    __tablename__ = "clubs"

    club_id: Mapped[str] = mapped_column(ID, primary_key=True)
    label: Mapped[str] = mapped_column(LABEL)
    keep_days: Mapped[int | None]
    keep_days_under_18: Mapped[int | None]
    version: Mapped[int]
    created_at: Mapped[datetime]


class TokenRow(KeptRow):
    """A credential. `digest` is the SHA-256 of its secret in hex; the secret itself is never kept."""

    __tablename__ = "tokens"

    label: Mapped[str] = mapped_column(LABEL)
    digest: Mapped[str] = mapped_column(String(64))
    scopes: Mapped[list[str]]
    created_at: Mapped[datetime]
    expires_at: Mapped[datetime | None]
    revoked_at: Mapped[datetime | None]
    last_used: Mapped[date | None]


class PlayerRow(KeptRow):
    """A player of the club or an opponent, by nickname or code. `facts` hold playing facts by vocabulary key."""

    __tablename__ = "players"
    __table_args__ = (
        UniqueConstraint("club_id", "side", "label"),
        CheckConstraint("side IN ('own', 'opponent')", name="side"),
    )

    side: Mapped[str] = mapped_column(WORD)
    label: Mapped[str] = mapped_column(LABEL)
    facts: Mapped[dict[str, Any]]
    age_band: Mapped[str | None] = mapped_column(WORD)
    version: Mapped[int]
    created_at: Mapped[datetime]
    updated_at: Mapped[datetime]


class MatchRow(KeptRow):
    """A match between a player of the club and an opponent; either may have been erased.

    `context`, `own_facts` and `opponent_facts` are as posted; facts stand above those of the players. `earlier` are
    the matches before this one against the same opponent. `version` counts changes of the match itself, `revision`
    every change that can change advice, entries included.
    """

    __tablename__ = "matches"
    __table_args__ = (
        ForeignKeyConstraint(["club_id", "own_id"], ["players.club_id", "players.id"]),
        ForeignKeyConstraint(["club_id", "opponent_id"], ["players.club_id", "players.id"]),
        CheckConstraint("status IN ('open', 'ended')", name="status"),
        Index(None, "club_id", "opponent_id"),
        Index(None, "club_id", "own_id"),
    )

    own_id: Mapped[str | None] = mapped_column(ID)
    opponent_id: Mapped[str | None] = mapped_column(ID)
    context: Mapped[dict[str, Any]]
    own_facts: Mapped[dict[str, Any]]
    opponent_facts: Mapped[dict[str, Any]]
    first_server: Mapped[str | None] = mapped_column(WORD)
    status: Mapped[str] = mapped_column(WORD)
    started_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]
    version: Mapped[int]
    revision: Mapped[int]
    created_at: Mapped[datetime]
    earlier: Mapped[list[Any]]


class EntryTable(KeptRow):
    """An entry of a match. `sequence` is the match's revision that it made; `body` null withdraws what it supersedes.

    An entry is superseded at most once, so that corrections form a line.
    """

    __abstract__ = True

    match_id: Mapped[str] = mapped_column(ID)
    sequence: Mapped[int]
    supersedes: Mapped[str | None] = mapped_column(ID)
    body: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    recorded_at: Mapped[datetime]

    @declared_attr.directive
    def __table_args__(cls) -> tuple[SchemaItem, ...]:
        return (
            ForeignKeyConstraint(["club_id", "match_id"], ["matches.club_id", "matches.id"], ondelete="CASCADE"),
            UniqueConstraint("club_id", "match_id", "sequence"),
            UniqueConstraint("club_id", "match_id", "supersedes"),
        )


class ObservationRow(EntryTable):
    """A thing seen, with its kind, set and game beside the body so that they can be asked for."""

    __tablename__ = "observations"

    kind: Mapped[str] = mapped_column(LABEL)
    set_number: Mapped[int | None]
    game_number: Mapped[int | None]


class PointRow(EntryTable):
    """A point won, or the score as it was set by hand."""

    __tablename__ = "points"


class TryRow(EntryTable):
    """Tries of a tactic."""

    __tablename__ = "tries"


class SnapshotRow(KeptRow):
    """One piece of advice with all that it rested on, so that it can be replayed."""

    __tablename__ = "snapshots"
    __table_args__ = (
        ForeignKeyConstraint(["club_id", "match_id"], ["matches.club_id", "matches.id"], ondelete="CASCADE"),
        Index(None, "club_id", "match_id"),
    )

    match_id: Mapped[str] = mapped_column(ID)
    moment: Mapped[str] = mapped_column(WORD)
    revision: Mapped[int]
    situation: Mapped[dict[str, Any]]
    rulebook_version: Mapped[str] = mapped_column(LABEL)
    rulebook_digest: Mapped[str] = mapped_column(LABEL)
    fired: Mapped[list[Any]]
    advice: Mapped[dict[str, Any]]
    health_removed: Mapped[bool]
    created_at: Mapped[datetime]


class FeedbackRow(KeptRow):
    """What became of one suggestion: used, not used and why, or how it turned out."""

    __tablename__ = "feedback"
    __table_args__ = (
        ForeignKeyConstraint(["club_id", "snapshot_id"], ["snapshots.club_id", "snapshots.id"], ondelete="CASCADE"),
        Index(None, "club_id", "snapshot_id"),
    )

    snapshot_id: Mapped[str] = mapped_column(ID)
    tactic: Mapped[str] = mapped_column(LABEL)
    kind: Mapped[str] = mapped_column(WORD)
    reason: Mapped[str | None] = mapped_column(String(500))
    created_at: Mapped[datetime]


class AnswerRow(ClubTable):
    """What a request with an idempotency key did: `answer` names what it made, never what was posted."""

    __tablename__ = "answers"

    key: Mapped[str] = mapped_column(String(255), primary_key=True)
    request_hash: Mapped[str] = mapped_column(String(64))
    answer: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    created_at: Mapped[datetime]
