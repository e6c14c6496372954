"""Store all data: tables, repositories bound to one club, one unit of work per use case, and migrations."""

from sqlalchemy import Engine

from tacticapi.store.engine import AWAY, database_url, open_engine, restore, saved
from tacticapi.store.repositories import ConstraintViolation, Entries, SchemaMismatch, UnitOfWork, any_token, club_ids
from tacticapi.store.tables import (
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
    shut,
)
from tacticapi.store.upkeep import BackupRefused, backup, check, in_memory, truncate_log, upgrade
