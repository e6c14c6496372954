"""Clubs, which are the tenants, and the tokens that open them; only the hash of a token's secret is stored."""

import base64
import binascii
import contextlib
import hashlib
import hmac
import secrets
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Self
from uuid import UUID

from tacticapi.club.services import UNWRITTEN, Services, VersionConflict, checked_label, checked_moment, found, refuse
from tacticapi.store import Club, Token, UnitOfWork, any_token, club_ids, new_id

# house policy where a club says nothing: none of it is law
KEEP_DAYS = 1_095  # of a match after its end
KEEP_DAYS_UNDER_18 = 365  # the same if anyone in it is under 18, or of unknown age
MAX_KEEP_DAYS = 36_500
SCOPES = ("observe", "advise", "read", "manage")
FIRST_TOKEN_VARIABLE, FIRST_TOKEN_LABEL, FIRST_CLUB_LABEL = "TACTICAPI_FIRST_TOKEN", "first token", "First club"
TOKEN_PREFIX = "tac_"
SECRET_BYTES = 32
_ID_BYTES = 16
_NOBODY = "0" * 64  # a digest that no secret is known to have


def create(
    services: Services,
    label: str,
    *,
    keep_days: int | None = KEEP_DAYS,
    keep_days_under_18: int | None = KEEP_DAYS_UNDER_18,
) -> Club:
    """Return a new club. Days are how long a match is kept after its end, None for good. Raises Refused."""
    check_days(keep_days=keep_days, keep_days_under_18=keep_days_under_18)
    club = Club(new_id(), checked_label(label), keep_days, keep_days_under_18, 1, services.now())
    with services.work(club.club_id) as work:
        work.clubs.add(club)
        work.commit()
    return club


def every(services: Services) -> list[Club]:
    """Return all clubs, for the operator."""
    return [get(services, club_id) for club_id in club_ids(services.engine)]


def get(services: Services, club_id: str) -> Club:
    """Return the club. Raises NotFound."""
    with services.reading(club_id) as work:
        return known_club(work)


def exists(services: Services, club_id: str) -> bool:
    """Return whether the club is still here."""
    with services.reading(club_id) as work:
        return work.clubs.mine() is not None


def update(services: Services, club_id: str, version: int, **changes: Any) -> Club:
    """Change label, keep_days or keep_days_under_18. Raises NotFound, VersionConflict, Refused."""
    if unknown := changes.keys() - {"label", "keep_days", "keep_days_under_18"}:
        raise refuse("label, keep_days or keep_days_under_18", *sorted(unknown)[:1])
    if "label" in changes:
        changes["label"] = checked_label(changes["label"])
    check_days(**{name: days for name, days in changes.items() if name != "label"})
    with services.work(club_id) as work:
        known_club(work)
        if not work.clubs.update_version(club_id, version, changes):
            raise VersionConflict("club", known_club(work).version)
        changed = known_club(work)
        work.commit()
    return changed


def known_club(work: UnitOfWork) -> Club:
    """Return the club of a unit of work. Raises NotFound."""
    return found(work.clubs.mine(), "club", work.club_id)


def check_days(**named: int | None) -> None:
    """Check the days for which a match is kept. Raises Refused."""
    for name, days in named.items():
        if days is not None and not 1 <= days <= MAX_KEEP_DAYS:
            raise refuse(f"whole days from 1 to {MAX_KEEP_DAYS:,}, or null to keep for good", name, value=days)


@dataclass(frozen=True, slots=True)
class Secret:
    """What a token's text says. `secret` is 32 random bytes."""

    club_id: str
    token_id: str
    secret: bytes = field(repr=False)

    @classmethod
    def new(cls, club_id: str, token_id: str) -> Self:
        """Return a new secret for this token."""
        return cls(club_id, token_id, secrets.token_bytes(SECRET_BYTES))

    @classmethod
    def read(cls, text: str) -> Self | None:
        """Return the token that a text holds, None if it is none."""
        try:
            packed = base64.b64decode(text.removeprefix(TOKEN_PREFIX).encode(), altchars=b"-_", validate=True)
        except (binascii.Error, UnicodeEncodeError):
            return None
        if not text.startswith(TOKEN_PREFIX) or len(packed) != 2 * _ID_BYTES + SECRET_BYTES:
            return None
        club_id, token_id = (str(UUID(bytes=packed[start : start + _ID_BYTES])) for start in (0, _ID_BYTES))
        return cls(club_id, token_id, packed[2 * _ID_BYTES :])

    @property
    def text(self) -> str:
        """Return the text that opens the club."""
        packed = UUID(self.club_id).bytes + UUID(self.token_id).bytes + self.secret
        return TOKEN_PREFIX + base64.urlsafe_b64encode(packed).decode()

    @property
    def digest(self) -> str:
        """SHA-256 of the secret in hex: all that is kept of it. It is random, so it needs no salt."""
        return hashlib.sha256(self.secret).hexdigest()


@dataclass(frozen=True, slots=True)
class NewToken:
    """A new token and the text that opens the club with it. The text cannot be had again."""

    token: Token
    text: str


def create_token(
    services: Services, club_id: str, label: str, scopes: Collection[str], *, expires_at: datetime | None = None
) -> NewToken:
    """Return a new token of the club with these scopes. Raises NotFound, Refused."""
    if not scopes or set(scopes) - set(SCOPES):
        raise refuse(f"at least one of {', '.join(SCOPES)}", "scopes", value=sorted(scopes))
    now = services.now()
    if expires_at is not None and checked_moment(expires_at, "expires_at") <= now:
        raise refuse("a time to come", "expires_at", value=expires_at.isoformat())
    secret, ordered = Secret.new(club_id, new_id()), [scope for scope in SCOPES if scope in scopes]
    token = Token(club_id, secret.token_id, checked_label(label), secret.digest, ordered, now, expires_at, None, None)
    with services.work(club_id) as work:
        known_club(work)
        work.tokens.add(token)
        work.commit()
    return NewToken(token, secret.text)


def tokens_of(services: Services, club_id: str) -> list[Token]:
    """Return the tokens of the club, dead ones included until they are swept."""
    with services.reading(club_id) as work:
        known_club(work)
        return work.tokens.find()


def any_token_made(services: Services) -> bool:
    """Return whether any club has a token, a dead one included: from the first on, what is kept needs a token."""
    return any_token(services.engine)


def revoke_token(services: Services, club_id: str, token_id: str) -> Token:
    """Close a token for good; one that is closed stays as it is. Raises NotFound."""
    with services.work(club_id) as work:
        if _known_token(work, token_id).revoked_at is None:
            work.tokens.update(token_id, {"revoked_at": services.now()})
        token = _known_token(work, token_id)
        work.commit()
    return token


def authenticate(services: Services, text: str) -> Token | None:
    """Return the live token that a text opens, else None. Secrets are compared in constant time."""
    secret = Secret.read(text)
    if secret is None:
        return None
    with services.reading(secret.club_id) as work:
        token = work.tokens.get(secret.token_id)
    now = services.now()
    if not hmac.compare_digest(secret.digest, token.digest if token else _NOBODY) or token is None:
        return None
    if token.revoked_at is not None or (token.expires_at is not None and token.expires_at <= now):
        return None
    if token.last_used != now.date():
        with contextlib.suppress(*UNWRITTEN), services.work(token.club_id) as work:
            work.tokens.update(token.id, {"last_used": now.date()})
            work.commit()
    return token


def _known_token(work: UnitOfWork, token_id: str) -> Token:
    return found(work.tokens.get(token_id), "token", token_id)


def draft_first_token() -> str:
    """Return the text of a token that nothing knows yet; it names a club and a token that `adopt_first_token` makes."""
    return Secret.new(new_id(), new_id()).text


def adopt_first_token(services: Services, text: str) -> Token | None:
    """Make the club and the token that a draft names; None if any token or that club exists. Raises Refused."""
    secret = Secret.read(text)
    if secret is None:
        raise refuse("a token as `tacticapi token draft` prints it", FIRST_TOKEN_VARIABLE)
    club_id, now = secret.club_id, services.now()
    if club_id in club_ids(services.engine) or any_token_made(services):
        return None
    club = Club(club_id, FIRST_CLUB_LABEL, KEEP_DAYS, KEEP_DAYS_UNDER_18, 1, now)
    scopes = list(SCOPES)
    token = Token(club_id, secret.token_id, FIRST_TOKEN_LABEL, secret.digest, scopes, now, None, None, None)
    with services.work(club_id) as work:
        work.clubs.add(club)
        work.tokens.add(token)
        work.commit()
    return token
