"""The schema of the first release. A new database gets its version's tables directly, so nothing is done here."""

revision = "0005"
down_revision = None


def upgrade() -> None:
    """Do nothing: no earlier schema was released."""
