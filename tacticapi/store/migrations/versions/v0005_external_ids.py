"""A club's own ids of players and matches, when a match changed and if it may be reopened, when entries were seen."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

NAMED = ("players", "matches")
ENTRIES = ("observations", "points", "tries")
MATCHES = sa.table("matches", *(sa.column(name) for name in ("club_id", "id", "updated_at")))


def upgrade() -> None:
    """Add the columns. A match last changed with its newest entry or its end; one that has ended stays ended."""
    for name in NAMED:
        op.add_column(name, sa.Column("external_id", sa.String(64), nullable=True))
        op.create_index(f"ix_{name}_club_id_external_id", name, ["club_id", "external_id"], unique=True)
    for name in ENTRIES:
        op.add_column(name, sa.Column("observed_at", sa.DateTime(timezone=True), nullable=True))
    # a column that is never empty comes with a default, since SQLite changes none afterwards
    op.add_column("matches", sa.Column("reopenable", sa.Boolean(), nullable=False, server_default=sa.false()))
    never = sa.text("'1970-01-01 00:00:00.000000'")
    op.add_column("matches", sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False, server_default=never))
    op.execute("UPDATE matches SET reopenable = true WHERE status = 'open'")
    op.execute("UPDATE matches SET updated_at = created_at")
    op.execute("UPDATE matches SET updated_at = ended_at WHERE ended_at > updated_at")
    for name in ENTRIES:
        entry = sa.table(name, *(sa.column(one) for one in ("club_id", "match_id", "recorded_at")))
        of_match = (entry.c.club_id == MATCHES.c.club_id, entry.c.match_id == MATCHES.c.id)
        newest = sa.select(sa.func.max(entry.c.recorded_at)).where(*of_match).scalar_subquery()
        op.execute(MATCHES.update().values(updated_at=newest).where(newest > MATCHES.c.updated_at))


def downgrade() -> None:
    """Drop them again."""
    for name in ("updated_at", "reopenable"):
        op.drop_column("matches", name)
    for name in ENTRIES:
        op.drop_column(name, "observed_at")
    for name in NAMED:
        op.drop_index(f"ix_{name}_club_id_external_id", name)
        op.drop_column(name, "external_id")
