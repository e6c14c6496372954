"""Manage clubs (the tenants) and their access tokens; only the hash of a token's secret is stored."""

import base64
import binascii
import contextlib
import hashlib
import hmac
import secrets
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Self
from uuid import UUID

from tacticapi.club.services import (
    UNWRITTEN,
    BeingFilled,
    LinkSpent,
    NotFound,
    Services,
    VersionConflict,
    checked_label,
    checked_moment,
    conflict,
    found,
    refuse,
)
from tacticapi.store import Club, Token, UnitOfWork, any_token, club_ids, new_id

# default policy for clubs that set none; not law
KEEP_DAYS = 1_095  # for which a match is kept after it ends
KEEP_DAYS_UNDER_18 = 365  # the same if a player is under 18 or of unknown age
MAX_KEEP_DAYS = 36_500
SCOPES = ("observe", "advise", "read", "manage")
FIRST_TOKEN_VARIABLE, FIRST_TOKEN_LABEL, FIRST_CLUB_LABEL = "TACTICAPI_FIRST_TOKEN", "first token", "First club"
# a phone's token gives access to one match, named by its only scope: link:ID until the link is opened, then court:ID
COURT, LINK, COURT_LABEL = "court", "link", "phone at the court"
LINK_TIME, COURT_TIME = timedelta(minutes=15), timedelta(hours=48)  # to scan the link; to finish a match after rain
FILLING = "import…"  # stored with the results of requests during an import; no client's key can have this form
TOKEN_PREFIX, LINK_PREFIX = "tac_", "link_"
SECRET_BYTES = 32
_ID_BYTES = 16
_NOBODY = "0" * 64  # a digest with no known secret


def create(services: Services, label: str) -> Club:
    """Create a club with the default days and return it. Raises Refused."""
    club = Club(new_id(), checked_label(label), KEEP_DAYS, KEEP_DAYS_UNDER_18, 1, services.now())
    with services.work(club.club_id) as work:
        work.clubs.add(club)
    return club


def every(services: Services) -> list[Club]:
    """Return all clubs (for the operator)."""
    return [get(services, club_id) for club_id in club_ids(services.engine)]


def get(services: Services, club_id: str) -> Club:
    """Return the club. Raises NotFound."""
    with services.reading(club_id) as work:
        return known_club(work)


def exists(services: Services, club_id: str) -> bool:
    """Return whether the club exists."""
    with services.reading(club_id) as work:
        return work.clubs.get(club_id) is not None


def update(services: Services, club_id: str, version: int, **changes: Any) -> Club:
    """Change label, keep_days or keep_days_under_18. Raises NotFound, VersionConflict, Refused."""
    if "label" in changes:
        changes["label"] = checked_label(changes["label"])
    check_days(**{name: days for name, days in changes.items() if name != "label"})
    with services.work(club_id) as work:
        known_club(work)
        if not work.clubs.update_version(club_id, version, changes):
            raise VersionConflict("club", known_club(work).version)
        return known_club(work)


def known_club(work: UnitOfWork) -> Club:
    """Return a unit of work's club. Raises NotFound."""
    return found(work.clubs.get(work.club_id), "club", work.club_id)


def check_days(**named: int | None) -> None:
    """Check the numbers of days for which matches are kept. Raises Refused."""
    for name, days in named.items():
        if days is not None and not 1 <= days <= MAX_KEEP_DAYS:
            raise refuse(f"whole days from 1 to {MAX_KEEP_DAYS:,}, or null to keep for good", name, value=days)


@dataclass(frozen=True, slots=True)
class Secret:
    """The parts of a token string; `secret` is 32 random bytes."""

    club_id: str
    token_id: str
    secret: bytes = field(repr=False)

    @classmethod
    def new(cls, club_id: str, token_id: str) -> Self:
        """Return a new secret for this token."""
        return cls(club_id, token_id, secrets.token_bytes(SECRET_BYTES))

    @classmethod
    def read(cls, text: str, prefix: str = TOKEN_PREFIX) -> Self | None:
        """Parse a token string; return None if it is invalid."""
        try:
            packed = base64.b64decode(text.removeprefix(prefix).encode(), altchars=b"-_", validate=True)
        except (binascii.Error, UnicodeEncodeError):
            return None
        if not text.startswith(prefix) or len(packed) != 2 * _ID_BYTES + SECRET_BYTES:
            return None
        club_id, token_id = (str(UUID(bytes=packed[start : start + _ID_BYTES])) for start in (0, _ID_BYTES))
        return cls(club_id, token_id, packed[2 * _ID_BYTES :])

    @property
    def text(self) -> str:
        """Return the string that gives access to the club."""
        packed = UUID(self.club_id).bytes + UUID(self.token_id).bytes + self.secret
        return TOKEN_PREFIX + base64.urlsafe_b64encode(packed).decode()

    @property
    def code(self) -> str:
        """Return the code in a link, to exchange for a token. It has no padding, which a link reader might cut off."""
        return LINK_PREFIX + self.text.removeprefix(TOKEN_PREFIX).rstrip("=")

    @property
    def digest(self) -> str:
        """Return the SHA-256 of the secret in hex; only this is stored. A random secret needs no salt."""
        return hashlib.sha256(self.secret).hexdigest()


@dataclass(frozen=True, slots=True)
class NewToken:
    """A new token and the string that gives access to the club. The string cannot be retrieved later."""

    token: Token
    text: str


def create_token(
    services: Services, club_id: str, label: str, scopes: Collection[str], *, expires_at: datetime | None = None
) -> NewToken:
    """Create a token for the club with these scopes and return it. Raises NotFound, Refused."""
    if not scopes or set(scopes) - set(SCOPES):
        raise refuse(f"at least one of {', '.join(SCOPES)}", "scopes", value=sorted(scopes))
    now = services.now()
    if expires_at is not None and checked_moment(expires_at, "expires_at") <= now:
        raise refuse("a time in the future", "expires_at", value=expires_at.isoformat())
    secret, ordered = Secret.new(club_id, new_id()), [scope for scope in SCOPES if scope in scopes]
    token = Token(club_id, secret.token_id, checked_label(label), secret.digest, ordered, now, expires_at)
    with services.work(club_id) as work:
        known_club(work)
        work.tokens.add(token)
    return NewToken(token, secret.text)


def tokens_of(services: Services, club_id: str, *, after: str | None = None, limit: int | None = None) -> list[Token]:
    """Return the club's tokens after an id. Expired and revoked tokens are included until they are swept."""
    with services.reading(club_id) as work:
        known_club(work)
        return work.tokens.find(after=after, limit=limit)


def any_token_made(services: Services) -> bool:
    """Return whether any club has a token, live or dead: once there is one, access to stored data needs a token.

    Tokens for phones at the court do not count, so handing over a match does not lock this machine out.
    """
    return any_token(services.engine)


def revoke_token(services: Services, club_id: str, token_id: str, *, asking: Token | None = None) -> Token:
    """Revoke a token for good; a revoked token stays as it is. Raises NotFound; Conflict for the caller's own token."""
    if asking and token_id == asking.id:
        raise conflict("own-token", "a different token: a request cannot revoke its own token", value=token_id)
    with services.work(club_id) as work:
        if _known_token(work, token_id).revoked_at is None:
            work.tokens.update(token_id, {"revoked_at": services.now()})
        return _known_token(work, token_id)


def authenticate(services: Services, text: str, *, filling: bool = False) -> Token | None:
    """Return the live token for this string, else None. Secrets are compared in constant time.

    Raises BeingFilled during an import into the club, unless the request belongs to that import (`filling`).
    """
    secret = Secret.read(text)
    if secret is None:
        return None
    with services.reading(secret.club_id) as work:
        token, being_filled = work.tokens.get(secret.token_id), _is_being_filled(work)
    now = services.now()
    if not hmac.compare_digest(secret.digest, token.digest if token else _NOBODY) or token is None:
        return None
    if not is_live(token, now) or _match_in(token, LINK):
        return None
    if being_filled and not filling:
        raise BeingFilled
    if token.last_used != now.date():
        with contextlib.suppress(*UNWRITTEN), services.work(token.club_id) as work:
            work.tokens.update(token.id, {"last_used": now.date()})
    return token


def check_whole(services: Services, club_id: str) -> None:
    """Raise BeingFilled during an import into the club."""
    with services.reading(club_id) as work:
        if _is_being_filled(work):
            raise BeingFilled


def _is_being_filled(work: UnitOfWork) -> bool:
    return work.answers.get(FILLING) is not None


def is_live(token: Token, now: datetime) -> bool:
    """Return whether a token is neither revoked nor expired."""
    return token.revoked_at is None and (token.expires_at is None or token.expires_at > now)


def match_of(token: Token) -> str | None:
    """Return the match that a token or an unopened link gives access to; None for a token for the whole club."""
    return _match_in(token, COURT) or _match_in(token, LINK)


def _match_in(token: Token, scope: str) -> str | None:
    name, found, match_id = token.scopes[0].partition(":")
    return match_id if found and name == scope else None


def create_court_link(
    services: Services, club_id: str, match_id: str, *, expires_at: datetime | None = None
) -> NewToken:
    """Return a code that one phone can exchange once, within LINK_TIME, for a token for this match alone.

    The token lasts COURT_TIME, but no longer than the caller's own token (`expires_at`). Raises NotFound.
    """
    now, secret = services.now(), Secret.new(club_id, new_id())
    ends = min(now + COURT_TIME, expires_at or datetime.max.replace(tzinfo=now.tzinfo))
    token = Token(club_id, secret.token_id, COURT_LABEL, secret.digest, [f"{LINK}:{match_id}"], now, ends)
    with services.work(club_id) as work:
        found(work.matches.revision(match_id), "match", match_id)
        work.tokens.add(token)
    return NewToken(token, secret.code)


def open_court_link(services: Services, code: str) -> NewToken:
    """Exchange a code from `create_court_link` for a token. The code cannot be used again.

    Raises NotFound for an unknown code, LinkSpent for a code that was used, was revoked or has expired.
    """
    old = found(Secret.read(f"{code}==", LINK_PREFIX), "link", "with this code")
    with services.reading(old.club_id) as work:
        link = found(work.tokens.get(old.token_id), "link", "with this code")
    match_id = found(match_of(link), "link", "with this code")
    if _match_in(link, COURT):
        raise LinkSpent("it has already been opened")
    if not hmac.compare_digest(old.digest, link.digest):
        raise NotFound("link", "with this code")
    now, new = services.now(), Secret.new(old.club_id, old.token_id)
    if not is_live(link, now) or now > link.created_at + LINK_TIME:
        raise LinkSpent("it was revoked" if link.revoked_at else "it has expired")
    with services.work(old.club_id) as work:
        opened = {"digest": new.digest, "scopes": [f"{COURT}:{match_id}"]}
        if not work.tokens.update(link.id, opened, digest=link.digest):  # another phone used it meanwhile
            raise LinkSpent("it has already been opened")
        return NewToken(_known_token(work, link.id), new.text)


def is_part_of_match(services: Services, club_id: str, match_id: str, noun: str, id: str) -> bool:
    """Return whether a player (`player_id`) plays in a match, or whether advice (`advice_id`) was given on it."""
    with services.reading(club_id) as work:
        if noun == "advice_id":
            advice = work.snapshots.get(id)
            return advice is not None and advice.match_id == match_id
        match = work.matches.get(match_id)
        return match is not None and id in (match.own_id, match.opponent_id)


def _known_token(work: UnitOfWork, token_id: str) -> Token:
    return found(work.tokens.get(token_id), "token", token_id)


def adopt_first_token(services: Services, text: str) -> Token | None:
    """Create the club and the token from a draft; return None if that club or any token exists. Raises Refused."""
    secret = Secret.read(text)
    if secret is None:
        raise refuse("a token in the form printed by `tacticapi token draft`", FIRST_TOKEN_VARIABLE)
    club_id, now = secret.club_id, services.now()
    if club_id in club_ids(services.engine) or any_token_made(services):
        return None
    club = Club(club_id, FIRST_CLUB_LABEL, KEEP_DAYS, KEEP_DAYS_UNDER_18, 1, now)
    token = Token(club_id, secret.token_id, FIRST_TOKEN_LABEL, secret.digest, list(SCOPES), now)
    with services.work(club_id) as work:
        work.clubs.add(club)
        work.tokens.add(token)
    return token
