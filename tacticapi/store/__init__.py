"""Everything that is kept: tables, repositories bound to one club, one unit of work a use case, migrations.

Not here: what the kept things mean (tacticapi.service). Nothing outside this folder imports SQLAlchemy.
Next: `tables` for what is kept, `unit` for how it is reached, `engine` and `schema` for the two engines.
"""

from tacticapi.store.backup import BackupRefused, backup
from tacticapi.store.engine import Engine, open_engine
from tacticapi.store.ids import is_id, new_id
from tacticapi.store.records import (
    Answer,
    Club,
    Entry,
    Feedback,
    Match,
    ObservationEntry,
    Player,
    Record,
    Snapshot,
    Token,
)
from tacticapi.store.repositories.base import Unfit
from tacticapi.store.repositories.match import Entries
from tacticapi.store.schema import check, upgrade
from tacticapi.store.settings import database_url
from tacticapi.store.unit import UnitOfWork, any_token, club_ids

__all__ = [
    "Answer",
    "BackupRefused",
    "Club",
    "Engine",
    "Entries",
    "Entry",
    "Feedback",
    "Match",
    "ObservationEntry",
    "Player",
    "Record",
    "Snapshot",
    "Token",
    "Unfit",
    "UnitOfWork",
    "any_token",
    "backup",
    "check",
    "club_ids",
    "database_url",
    "is_id",
    "new_id",
    "open_engine",
    "upgrade",
]
