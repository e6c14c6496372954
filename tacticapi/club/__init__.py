"""Use cases for a club's stored data: one function and one unit of work each. `services` contains what they share."""

from tacticapi.club.services import (
    BeingFilled,
    Conflict,
    IdempotencyConflict,
    IdempotentRequest,
    LinkSpent,
    NotFound,
    NotPermitted,
    Refused,
    ServiceError,
    Services,
    VersionConflict,
)
from tacticapi.store import AWAY, SchemaMismatch, Token, check, database_url, is_id, open_engine, upgrade
