"""Control access: a bearer token (RFC 6750) gives access to one club, with the token's scopes.

Until the first token is created, requests from this machine use this machine's club. Each such request checks the
database, so that a token created anywhere ends this access on all workers at once.
"""

from dataclasses import dataclass
from functools import lru_cache
from ipaddress import IPv6Address, ip_address, ip_network
from typing import NoReturn, cast
from urllib.parse import urlsplit

from flask import g, request

from tacticapi.api.http.deployment import demo_step, deployment, kept_services
from tacticapi.api.http.problems import refuse
from tacticapi.club import Services, Token, clubs, demo

OF_PROXIES = ("Forwarded", "Via", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Prefix", "X-Real-IP")
DEMO_SCOPES = frozenset({"read", "advise"})
OF_ADVICE = ("live.get_advice", "live.add_feedback")  # also open to a token for one match
OF_PLAYER = "players.get_player"
IMPORT = "clubs.import_into_club"  # still open while a club is being imported
NETWORK_BITS = 64  # of an IPv6 address; one connection owns the rest


def from_this_machine() -> bool:
    """Return whether a request comes from this machine and names it, without involving a proxy or another site."""
    known: bool | None = g.get("from_here")
    if known is None:
        g.from_here = known = _from_here()
    return known


def _from_here() -> bool:
    headers = request.headers
    if any(name in headers for name in OF_PROXIES):
        return False
    try:
        named = urlsplit(f"//{request.host}").hostname or ""
    except ValueError:
        return False
    return _is_loopback(request.remote_addr or "") and (named == "localhost" or _is_loopback(named))


def line_of_caller() -> str:
    """Return the caller's address; for IPv6, the caller's network."""
    sent = request.remote_addr or "unknown"
    try:
        address = ip_address(sent)
    except ValueError:
        return sent
    return str(ip_network((address, NETWORK_BITS), strict=False)) if isinstance(address, IPv6Address) else sent


@lru_cache(maxsize=256)
def _is_loopback(address: str) -> bool:
    try:
        return ip_address(address).is_loopback
    except ValueError:
        return False


REALM = 'Bearer realm="tacticapi"'


@dataclass(frozen=True, slots=True)
class Access:
    """The club a request belongs to, and what the request may do there: by scope, or with one match only."""

    club_id: str
    scopes: frozenset[str]
    token: Token | None = None


def require(scope: str) -> None:
    """Let the request continue if it has this scope; if not, end it with 401 (no valid token) or 403 (no scope)."""
    asking = _access()
    match_id = clubs.match_of(asking.token) if asking.token else None
    if scope not in asking.scopes and not (match_id and _is_of_match(asking.club_id, match_id)):
        challenge = f'{REALM}, error="insufficient_scope", scope="{scope}"'
        words = "this token gives access to only one match" if match_id else f"it requires the scope {scope}"
        refuse("insufficient-scope", words, headers={"WWW-Authenticate": challenge})
    g.access = asking


def _is_of_match(club_id: str, match_id: str) -> bool:
    """Return whether a request concerns this match, its advice or (read-only) its players; never to delete it."""
    named = request.view_args or {}
    if request.method == "DELETE":
        return False
    if "match_id" in named:
        return bool(named["match_id"] == match_id)
    of = "advice_id" if request.endpoint in OF_ADVICE else "player_id" if request.endpoint == OF_PLAYER else None
    return of is not None and clubs.is_part_of_match(kept_services(), club_id, match_id, of, named[of])


def access() -> Access:
    """Return what this request may do. Call `require` first."""
    return cast(Access, g.access)


def here() -> tuple[Services, str]:
    """Return this request's services and club. Call `require` first."""
    return kept_services(), access().club_id


def _access() -> Access:
    if demo_step() is not None:
        return Access(demo.CLUB_ID, DEMO_SCOPES)
    services = kept_services()
    from_here = "Authorization" not in request.headers and from_this_machine()
    if from_here and deployment().local and not clubs.any_token_made(services):
        local = deployment().local_club_id(services)
        if request.endpoint != IMPORT:
            clubs.check_whole(services, local)
        return Access(local, frozenset(clubs.SCOPES))
    sent = bearer()
    if sent is None:
        _refuse(REALM)
    token = clubs.authenticate(services, sent, filling=request.endpoint == IMPORT)
    if token is None:
        _refuse(f'{REALM}, error="invalid_token"')
    return Access(token.club_id, frozenset(token.scopes), token)


def bearer() -> str | None:
    """Return the bearer token that was sent (RFC 6750), if any."""
    scheme, _, sent = request.headers.get("Authorization", "").partition(" ")
    return sent.strip() if scheme.lower() == "bearer" else None


def _refuse(challenge: str) -> NoReturn:
    refuse("token-needed", headers={"WWW-Authenticate": challenge})
