"""Matches and what is entered during them: observations, points, tries. Entries are only ever added."""

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, ForeignKeyConstraint, Index, UniqueConstraint
from sqlalchemy.orm import Mapped, declared_attr, mapped_column
from sqlalchemy.schema import SchemaItem

from tacticapi.store.tables.base import ID, LABEL, WORD, Kept


class MatchRow(Kept):
    """A match between a player of the club and an opponent; either may have been erased.

    `context`, `own_facts` and `opponent_facts` are as posted; facts stand above those of the players. `priors` are
    what earlier matches (`earlier`) had taught of the opponent when this one was made. `version` counts changes of
    the match itself, `revision` every change that can change advice, entries included.
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
    priors: Mapped[dict[str, Any]]
    first_server: Mapped[str | None] = mapped_column(WORD)
    status: Mapped[str] = mapped_column(WORD)
    started_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]
    version: Mapped[int]
    revision: Mapped[int]
    created_at: Mapped[datetime]
    earlier: Mapped[list[Any]]


class EntryTable(Kept):
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
