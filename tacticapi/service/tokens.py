"""Tokens: who may do what for a club. A token is shown once, when it is made; only the hash of its secret is kept."""

import hmac
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from tacticapi.service.checks import checked_label, checked_moment
from tacticapi.service.clubs import known_club
from tacticapi.service.desk import Desk
from tacticapi.service.errors import NotFound, refuse
from tacticapi.service.secret import Secret
from tacticapi.store import Token, UnitOfWork, any_token, new_id

SCOPES = ("observe", "advise", "read", "manage")
_NOBODY = "0" * 64  # a digest that no secret is known to have


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
    secret, ordered = Secret.new(club_id, new_id()), [scope for scope in SCOPES if scope in scopes]
    token = Token(club_id, secret.token_id, checked_label(label), secret.digest, ordered, now, expires_at, None, None)
    with desk.work(club_id) as work:
        known_club(work)
        work.tokens.add(token)
        work.commit()
    return Issued(token, secret.text)


def every(desk: Desk, club_id: str) -> list[Token]:
    """The tokens of the club, dead ones included until they are swept."""
    with desk.reading(club_id) as work:
        known_club(work)
        return work.tokens.find()


def any_made(desk: Desk) -> bool:
    """Return whether any club has a token, a dead one included: from the first on, what is kept needs a token."""
    return any_token(desk.engine)


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
    secret = Secret.read(text)
    if secret is None:
        return None
    with desk.reading(secret.club_id) as work:
        token = work.tokens.get(secret.token_id)
    now = desk.now()
    if not hmac.compare_digest(secret.digest, token.digest if token else _NOBODY) or token is None:
        return None
    if token.revoked_at is not None or (token.expires_at is not None and token.expires_at <= now):
        return None
    if token.last_used != now.date():
        with desk.work(token.club_id) as work:
            work.tokens.mark_used(token.id, now.date())
            work.commit()
    return token


def _known(work: UnitOfWork, token_id: str) -> Token:
    token = work.tokens.get(token_id)
    if token is None:
        raise NotFound("token", token_id)
    return token
