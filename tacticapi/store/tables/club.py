"""Clubs, the tokens that open them, and their players."""

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from tacticapi.store.tables.base import ID, LABEL, WORD, Base, Kept


class ClubRow(Base):
    """A tenant, with how long it keeps what was seen (days; null keeps for good)."""

    __tablename__ = "clubs"

    club_id: Mapped[str] = mapped_column(ID, primary_key=True)
    label: Mapped[str] = mapped_column(LABEL)
    keep_days: Mapped[int | None]
    keep_days_under_18: Mapped[int | None]
    version: Mapped[int]
    created_at: Mapped[datetime]


class TokenRow(Kept):
    """A credential. `digest` is the SHA-256 of its secret in hex; the secret itself is never kept."""

    __tablename__ = "tokens"

    label: Mapped[str] = mapped_column(LABEL)
    digest: Mapped[str] = mapped_column(String(64))
    scopes: Mapped[list[str]]
    created_at: Mapped[datetime]
    expires_at: Mapped[datetime | None]
    revoked_at: Mapped[datetime | None]
    last_used: Mapped[date | None]


class PlayerRow(Kept):
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
