"""Clubs, tokens, players, matches with their entries, advice given, feedback, and answers to repeated requests."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0005"  # those before it were never released
down_revision = None
branch_labels = None
depends_on = None

ENTRIES = ("observations", "points", "tries")
TABLES = ("clubs", "tokens", "players", "matches", *ENTRIES, "snapshots", "feedback", "answers")


def upgrade() -> None:
    """Make all tables."""
    _clubs()
    _matches()
    for name in ENTRIES:
        _entries(name)
    _advice()


def downgrade() -> None:
    """Drop all tables, those that point to others first."""
    for name in reversed(TABLES):
        op.drop_table(name)


def _clubs() -> None:
    op.create_table(
        "clubs",
        _id("club_id"),
        _text("label", 100),
        _whole("keep_days", nullable=True),
        _whole("keep_days_under_18", nullable=True),
        _whole("version"),
        _moment("created_at"),
        sa.PrimaryKeyConstraint("club_id", name="pk_clubs"),
    )
    _kept(
        "tokens",
        _text("label", 100),
        _text("digest", 64),
        _json("scopes"),
        _moment("created_at"),
        _moment("expires_at", nullable=True),
        _moment("revoked_at", nullable=True),
        sa.Column("last_used", sa.Date(), nullable=True),
    )
    _kept(
        "players",
        _text("side", 40),
        _text("label", 100),
        _json("facts"),
        _text("age_band", 40, nullable=True),
        _whole("version"),
        _moment("created_at"),
        _moment("updated_at"),
        _json("former_labels"),
        _text("external_id", 64, nullable=True),
        sa.CheckConstraint("side IN ('own', 'opponent')", name="ck_players_side"),
        sa.UniqueConstraint("club_id", "side", "label", name="uq_players_club_id_side_label"),
    )
    _external_id("players")


def _matches() -> None:
    _kept(
        "matches",
        _id("own_id", nullable=True),
        _id("opponent_id", nullable=True),
        _json("context"),
        _json("own_facts"),
        _json("opponent_facts"),
        _text("first_server", 40, nullable=True),
        _text("status", 40),
        _moment("started_at"),
        _moment("ended_at", nullable=True),
        _whole("version"),
        _whole("revision"),
        _moment("created_at"),
        _json("earlier"),
        _text("external_id", 64, nullable=True),
        _moment("updated_at"),
        sa.Column("reopenable", sa.Boolean(), nullable=False),
        sa.CheckConstraint("status IN ('open', 'ended')", name="ck_matches_status"),
        _points_to("matches", "own_id", "players"),
        _points_to("matches", "opponent_id", "players"),
    )
    op.create_index("ix_matches_club_id_own_id", "matches", ["club_id", "own_id"])
    op.create_index("ix_matches_club_id_opponent_id", "matches", ["club_id", "opponent_id"])
    _external_id("matches")


def _entries(name: str) -> None:
    columns = [
        _id("match_id"),
        _whole("sequence"),
        _id("supersedes", nullable=True),
        _json("body", nullable=True),
        _moment("recorded_at"),
        _moment("observed_at", nullable=True),
    ]
    if name == "observations":
        columns += [_text("kind", 100), _whole("set_number", nullable=True), _whole("game_number", nullable=True)]
    _kept(
        name,
        *columns,
        _points_to(name, "match_id", "matches", ondelete="CASCADE"),
        sa.UniqueConstraint("club_id", "match_id", "sequence", name=f"uq_{name}_club_id_match_id_sequence"),
        sa.UniqueConstraint("club_id", "match_id", "supersedes", name=f"uq_{name}_club_id_match_id_supersedes"),
    )


def _advice() -> None:
    _kept(
        "snapshots",
        _id("match_id"),
        _text("moment", 40),
        _whole("revision"),
        _whole("confirmed"),
        _packed("question"),
        _text("rulebook_version", 100),
        _text("rulebook_digest", 100),
        _packed("fired"),
        _packed("advice"),
        sa.Column("health_removed", sa.Boolean(), nullable=False),
        _moment("created_at"),
        _points_to("snapshots", "match_id", "matches", ondelete="CASCADE"),
    )
    op.create_index("ix_snapshots_club_id_match_id", "snapshots", ["club_id", "match_id"])
    _kept(
        "feedback",
        _id("snapshot_id"),
        _text("tactic", 100),
        _text("kind", 40),
        _text("reason", 500, nullable=True),
        _moment("created_at"),
        _points_to("feedback", "snapshot_id", "snapshots", ondelete="CASCADE"),
    )
    op.create_index("ix_feedback_club_id_snapshot_id", "feedback", ["club_id", "snapshot_id"])
    op.create_table(
        "answers",
        _id("club_id"),
        _text("key", 255),
        _text("request_hash", 100),
        _json("answer", nullable=True),
        _moment("created_at"),
        sa.PrimaryKeyConstraint("club_id", "key", name="pk_answers"),
        _of_club("answers"),
    )


def _kept(name: str, *columns: Any) -> None:
    """Return a table with the key (club_id, id)."""
    key = sa.PrimaryKeyConstraint("club_id", "id", name=f"pk_{name}")
    op.create_table(name, _id("club_id"), _id("id"), *columns, key, _of_club(name))


def _external_id(table: str) -> None:
    op.create_index(f"ix_{table}_club_id_external_id", table, ["club_id", "external_id"], unique=True)


def _of_club(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(["club_id"], ["clubs.club_id"], name=f"fk_{table}_club_id", ondelete="CASCADE")


def _points_to(table: str, column: str, target: str, **options: Any) -> sa.ForeignKeyConstraint:
    name = f"fk_{table}_club_id_{column}"
    return sa.ForeignKeyConstraint(["club_id", column], [f"{target}.club_id", f"{target}.id"], name=name, **options)


def _id(name: str, *, nullable: bool = False) -> sa.Column[str]:
    return _text(name, 36, nullable=nullable)


def _text(name: str, length: int, *, nullable: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.String(length), nullable=nullable)


def _whole(name: str, *, nullable: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.Integer(), nullable=nullable)


def _json(name: str, *, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.JSON(), nullable=nullable)


def _packed(name: str) -> sa.Column[bytes]:
    return sa.Column(name, sa.LargeBinary(), nullable=False)


def _moment(name: str, *, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.DateTime(timezone=True), nullable=nullable)
