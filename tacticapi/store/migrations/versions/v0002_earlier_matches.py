"""A match tells which earlier ones taught what its priors hold."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Matches made before do not know their earlier ones any more."""
    op.add_column("matches", sa.Column("earlier", sa.JSON(), nullable=False, server_default="[]"))


def downgrade() -> None:
    """Forget them. Not by a new table in the old one's place: entries go with the table that they point to."""
    op.drop_column("matches", "earlier")
