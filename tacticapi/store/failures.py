"""How the database says that it cannot be used now, for those who answer for it."""

from sqlalchemy.exc import OperationalError, TimeoutError

# locked, full, read-only, unreachable, shutting down; no connection of the pool free in time
AWAY: tuple[type[Exception], ...] = (OperationalError, TimeoutError)
