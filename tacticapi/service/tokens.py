"""Tokens: who may do what for a club. A token is shown once, when it is made; only the hash of its secret is kept."""

import base64
import binascii
import hashlib
import hmac
import secrets
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from tacticapi.service.checks import checked_label, checked_moment
from tacticapi.service.clubs import known_club
from tacticapi.service.desk import Desk
from tacticapi.service.errors import NotFound, refuse
from tacticapi.store import Token, UnitOfWork, new_id

SCOPES = ("observe", "advise", "read", "manage")
PREFIX = "tac_"
SECRET_BYTES = 32
_ID_BYTES = 16


@dataclass(frozen=True, slots=True)
class Issued:
    """A new token and the text that opens the club with it. The text cannot be had again."""

    token: Token
    text: str


def create(
    desk: Desk, club_id: str, label: str, scopes: Collection[str], *, expires_at: datetime | None = None
) -> Issued:
    """A new token of the club with these scopes. Raises NotFound, Refused."""
    if not scopes or set(scopes) - set(SCOPES):
        raise refuse(f"at least one of {', '.join(SCOPES)}", "scopes", value=sorted(scopes))
    now = desk.now()
    if expires_at is not None and checked_moment(expires_at, "expires_at") <= now:
        raise refuse("a time to come", "expires_at", value=expires_at.isoformat())
    secret, ordered = secrets.token_bytes(SECRET_BYTES), [scope for scope in SCOPES if scope in scopes]
    token = Token(club_id, new_id(), checked_label(label), _digest(secret), ordered, now, expires_at, None, None)
    with desk.work(club_id) as work:
        known_club(work)
        work.tokens.add(token)
        work.commit()
    packed = UUID(club_id).bytes + UUID(token.id).bytes + secret
    return Issued(token, PREFIX + base64.urlsafe_b64encode(packed).decode())


def every(desk: Desk, club_id: str) -> list[Token]:
    """The tokens of the club, dead ones included until they are swept."""
    with desk.reading(club_id) as work:
        known_club(work)
        return work.tokens.find()


def revoke(desk: Desk, club_id: str, token_id: str) -> Token:
    """Close a token for good; one that is closed stays as it is. Raises NotFound."""
    with desk.work(club_id) as work:
        if _known(work, token_id).revoked_at is None:
            work.tokens.update(token_id, {"revoked_at": desk.now()})
        token = _known(work, token_id)
        work.commit()
    return token


def authenticate(desk: Desk, text: str) -> Token | None:
    """The token that a text opens: None for a text that is no token, or whose token is unknown, revoked or expired.

    The secrets are compared in constant time. The day of use is noted, once a day.
    """
    read = _unpacked(text)
    if read is None:
        return None
    club_id, token_id, secret = read
    with desk.reading(club_id) as work:
        token = work.tokens.get(token_id)
    now = desk.now()
    if not hmac.compare_digest(_digest(secret), token.digest if token else _digest(b"")) or token is None:
        return None
    if token.revoked_at is not None or (token.expires_at is not None and token.expires_at <= now):
        return None
    if token.last_used != now.date():
        with desk.work(club_id) as work:
            work.tokens.mark_used(token_id, now.date())
            work.commit()
    return token


def _known(work: UnitOfWork, token_id: str) -> Token:
    token = work.tokens.get(token_id)
    if token is None:
        raise NotFound("token", token_id)
    return token


def _unpacked(text: str) -> tuple[str, str, bytes] | None:
    try:
        packed = base64.b64decode(text.removeprefix(PREFIX).encode(), altchars=b"-_", validate=True)
    except (binascii.Error, UnicodeEncodeError):
        return None
    if not text.startswith(PREFIX) or len(packed) != 2 * _ID_BYTES + SECRET_BYTES:
        return None
    ids = (str(UUID(bytes=packed[start : start + _ID_BYTES])) for start in (0, _ID_BYTES))
    return next(ids), next(ids), packed[2 * _ID_BYTES :]


def _digest(secret: bytes) -> str:
    return hashlib.sha256(secret).hexdigest()
