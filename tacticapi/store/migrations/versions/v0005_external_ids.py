"""A club's own ids of players and matches, when a match changed and if it may be reopened, when entries were seen."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

NAMED = ("players", "matches")
ENTRIES = ("observations", "points", "tries")
OF_MATCH = "e.club_id = matches.club_id AND e.match_id = matches.id"


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
        newest = f"SELECT max(e.recorded_at) FROM {name} e WHERE {OF_MATCH}"
        later = f"SELECT 1 FROM {name} e WHERE {OF_MATCH} AND e.recorded_at > matches.updated_at"
        op.execute(f"UPDATE matches SET updated_at = ({newest}) WHERE EXISTS ({later})")


def downgrade() -> None:
    """Drop them again."""
    for name in ("updated_at", "reopenable"):
        op.drop_column("matches", name)
    for name in ENTRIES:
        op.drop_column(name, "observed_at")
    for name in NAMED:
        op.drop_index(f"ix_{name}_club_id_external_id", name)
        op.drop_column(name, "external_id")
