"""The schema in the database against the one of this version: upgrade, check."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from tacticapi.store.engine import Engine, open_engine
from tacticapi.store.settings import unhurried

MIGRATIONS = Path(__file__).parent / "migrations"
MEND = "tacticapi db upgrade"


def upgrade(url: str) -> None:
    """Bring the schema to this version, in one transaction; does nothing when it is there. Two at once wait in turn."""
    engine = open_engine(url, unhurried())
    try:
        command.upgrade(alembic_config(engine), "head")
    finally:
        engine.dispose()


def check(url: str) -> str | None:
    """None when the schema is the one of this version, else a sentence that names the command that mends it."""
    engine = open_engine(url)
    try:
        with engine.connect() as connection:
            found = MigrationContext.configure(connection).get_current_revision()
    finally:
        engine.dispose()
    script = ScriptDirectory.from_config(alembic_config(engine))
    wanted = script.get_current_head()
    if found == wanted:
        return None
    known = {revision.revision for revision in script.walk_revisions()}
    if found is not None and found not in known:
        return f"the database was made by a newer version (schema {found}, here {wanted}): install that version"
    return f"the database has {f'schema {found}' if found else 'no schema'}, this version needs {wanted}: run `{MEND}`"


def alembic_config(engine: Engine) -> Config:
    """Alembic's settings, made here so that no file has to be found."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = engine
    return config
