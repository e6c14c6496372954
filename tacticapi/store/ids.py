"""Ids that sort by the time they were made: UUID version 7 (RFC 9562, section 5.7)."""

import re
import secrets
import time
from uuid import UUID

NS_PER_MS = 1_000_000
_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")


def new_id() -> str:
    """A new id as text."""
    return str(uuid7(time.time_ns()))


def uuid7(unix_ns: int) -> UUID:
    """The UUIDv7 of a moment in nanoseconds since 1970.

    From the most significant bit: 48 bits of milliseconds, the version 7, 12 bits of the fraction of the millisecond
    (section 6.2, method 3, so that ids of one process sort within it too), the variant 0b10, 62 random bits.
    """
    ms, rest = divmod(unix_ns, NS_PER_MS)
    fraction = (rest << 12) // NS_PER_MS
    return UUID(int=ms << 80 | 0x7 << 76 | fraction << 64 | 0b10 << 62 | secrets.randbits(62))


def is_id(text: str) -> bool:
    """Whether a text can be an id at all; what cannot is never asked of the database."""
    return _ID.fullmatch(text) is not None
