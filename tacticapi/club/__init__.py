"""Use cases for what a club keeps: one function each, one unit of work each.

Here: clubs and tokens, players, matches and their entries, live advice, debrief, dossier, export and import, erasing,
retention. Not here: HTTP (tacticapi.api), queries (tacticapi.store), what advice says (tacticapi.advice).
Next: `services` (what every use case needs, and how it refuses), `matches`, `entries`, `situations`, `advising`.
"""

from tacticapi.club.services import (
    IdempotencyConflict,
    IdempotentRequest,
    NotFound,
    NotPermitted,
    Refused,
    ServiceError,
    Services,
    VersionConflict,
)
from tacticapi.store import AWAY, SchemaMismatch, check, database_url, is_id, open_engine

__all__ = [
    "AWAY",
    "IdempotencyConflict",
    "IdempotentRequest",
    "NotFound",
    "NotPermitted",
    "Refused",
    "SchemaMismatch",
    "ServiceError",
    "Services",
    "VersionConflict",
    "check",
    "database_url",
    "is_id",
    "open_engine",
]
