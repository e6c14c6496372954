"""The schema of the first release. A new database gets the tables of its version at once, so nothing is done here."""

revision = "0005"
down_revision = None


def upgrade() -> None:
    """Do nothing: no earlier schema was released."""
