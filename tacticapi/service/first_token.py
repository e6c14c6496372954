"""The first token of an empty database, drafted by whoever sets the service up before there is a database."""

import base64
import secrets
from uuid import UUID

from tacticapi.service import tokens
from tacticapi.service.desk import Desk
from tacticapi.service.errors import refuse
from tacticapi.service.figures import KEEP_DAYS, KEEP_DAYS_UNDER_18
from tacticapi.store import Club, Token, club_ids, new_id

VARIABLE = "TACTICAPI_FIRST_TOKEN"
CLUB_LABEL = "First club"
TOKEN_LABEL = "first token"


def draft() -> str:
    """The text of a token that nothing knows yet; it names a club and a token that `adopt` makes."""
    packed = UUID(new_id()).bytes + UUID(new_id()).bytes + secrets.token_bytes(tokens.SECRET_BYTES)
    return tokens.PREFIX + base64.urlsafe_b64encode(packed).decode()


def adopt(desk: Desk, text: str) -> Token | None:
    """Make the club and the token that a draft names, with every scope.

    None where any token, or that club, is here already, so that one that was revoked stays so. Raises Refused for a
    text that is no token.
    """
    read = tokens._unpacked(text)
    if read is None:
        raise refuse("a token as `tacticapi token draft` prints it", VARIABLE)
    (club_id, token_id, secret), now = read, desk.now()
    known = club_ids(desk.engine)
    if club_id in known or any(tokens.every(desk, one) for one in known):
        return None
    club = Club(club_id, CLUB_LABEL, KEEP_DAYS, KEEP_DAYS_UNDER_18, 1, now)
    scopes = list(tokens.SCOPES)
    token = Token(club_id, token_id, TOKEN_LABEL, tokens._digest(secret), scopes, now, None, None, None)
    with desk.work(club_id) as work:
        work.clubs.add(club)
        work.tokens.add(token)
        work.commit()
    return token
