"""Everything that is kept: tables, repositories bound to one club, one unit of work a use case, migrations.

Not here: what the kept things mean (tacticapi.club). Nothing outside this folder imports SQLAlchemy.
Next: `tables` for what is kept, `repositories` for how it is reached, `engine` for the two engines, `upkeep` for
what an operator does to the whole.
"""

from sqlalchemy import Engine

from tacticapi.store.engine import AWAY, database_url, open_engine
from tacticapi.store.records import (
    Club,
    Entry,
    Feedback,
    Match,
    ObservationEntry,
    Player,
    Record,
    Snapshot,
    Token,
    is_id,
    new_id,
)
from tacticapi.store.repositories import (
    ConstraintViolation,
    Entries,
    SchemaMismatch,
    UnitOfWork,
    any_token,
    club_ids,
)
from tacticapi.store.upkeep import BackupRefused, backup, check, truncate_log, upgrade

__all__ = [
    "AWAY",
    "BackupRefused",
    "Club",
    "ConstraintViolation",
    "Engine",
    "Entries",
    "Entry",
    "Feedback",
    "Match",
    "ObservationEntry",
    "Player",
    "Record",
    "SchemaMismatch",
    "Snapshot",
    "Token",
    "UnitOfWork",
    "any_token",
    "backup",
    "check",
    "club_ids",
    "database_url",
    "is_id",
    "new_id",
    "open_engine",
    "truncate_log",
    "upgrade",
]
