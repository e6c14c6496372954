"""The text of a token: which club, which token, and a secret of which only the hash is kept."""

import base64
import binascii
import hashlib
import secrets
from dataclasses import dataclass, field
from typing import Self
from uuid import UUID

PREFIX = "tac_"
SECRET_BYTES = 32
_ID_BYTES = 16


@dataclass(frozen=True, slots=True)
class Secret:
    """What a token's text says. `secret` is 32 random bytes."""

    club_id: str
    token_id: str
    secret: bytes = field(repr=False)

    @classmethod
    def new(cls, club_id: str, token_id: str) -> Self:
        """A new secret for this token."""
        return cls(club_id, token_id, secrets.token_bytes(SECRET_BYTES))

    @classmethod
    def read(cls, text: str) -> Self | None:
        """What a text says; None for a text that is no token."""
        try:
            packed = base64.b64decode(text.removeprefix(PREFIX).encode(), altchars=b"-_", validate=True)
        except (binascii.Error, UnicodeEncodeError):
            return None
        if not text.startswith(PREFIX) or len(packed) != 2 * _ID_BYTES + SECRET_BYTES:
            return None
        club_id, token_id = (str(UUID(bytes=packed[start : start + _ID_BYTES])) for start in (0, _ID_BYTES))
        return cls(club_id, token_id, packed[2 * _ID_BYTES :])

    @property
    def text(self) -> str:
        """The text that opens the club."""
        packed = UUID(self.club_id).bytes + UUID(self.token_id).bytes + self.secret
        return PREFIX + base64.urlsafe_b64encode(packed).decode()

    @property
    def digest(self) -> str:
        """SHA-256 of the secret in hex: all that is kept of it. It is random, so it needs no salt."""
        return hashlib.sha256(self.secret).hexdigest()
