"""Use cases for what a club keeps: one function each, one unit of work each. `services` is what each of them needs."""

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
