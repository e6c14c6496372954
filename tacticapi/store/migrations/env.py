"""Run the migrations on the engine that the caller put into the settings."""

from alembic import context
from sqlalchemy import Engine, text

from tacticapi.store.tables import METADATA

LOCK = 7_162_026  # any number that no one else uses for an advisory lock


def migrate(engine: Engine) -> None:
    """Return one transaction for all steps, on both engines; a second process waits for it."""
    with engine.connect() as connection:
        context.configure(
            connection=connection,
            target_metadata=METADATA,
            transactional_ddl=True,
            render_as_batch=connection.dialect.name == "sqlite",
        )
        with context.begin_transaction():
            if connection.dialect.name == "postgresql":
                connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
            context.run_migrations()


migrate(context.config.attributes["connection"])
