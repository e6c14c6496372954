"""Advice that was given, what became of it, and answers kept so that a repeated request does nothing twice."""

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, ForeignKeyConstraint, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from tacticapi.store.tables.base import ID, LABEL, WORD, ClubTable, Kept


class SnapshotRow(Kept):
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


class FeedbackRow(Kept):
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
