"""Earlier matches are read as they were seen, and priors are kept no more."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Drop the priors: they spoke of beliefs by a model that is gone."""
    op.drop_column("matches", "priors")


def downgrade() -> None:
    """Begin without priors again."""
    op.add_column("matches", sa.Column("priors", sa.JSON(), nullable=False, server_default="{}"))
