"""The first token of an empty database, drafted by whoever sets the service up before there is a database."""

from tacticapi.service import tokens
from tacticapi.service.desk import Desk
from tacticapi.service.errors import refuse
from tacticapi.service.policy import KEEP_DAYS, KEEP_DAYS_UNDER_18
from tacticapi.service.secret import Secret
from tacticapi.store import Club, Token, club_ids, new_id

VARIABLE = "TACTICAPI_FIRST_TOKEN"
CLUB_LABEL = "First club"
TOKEN_LABEL = "first token"


def draft() -> str:
    """The text of a token that nothing knows yet; it names a club and a token that `adopt` makes."""
    return Secret.new(new_id(), new_id()).text


def adopt(desk: Desk, text: str) -> Token | None:
    """Make the club and the token that a draft names, with every scope.

    None where any token, or that club, is here already, so that one that was revoked stays so. Raises Refused for a
    text that is no token.
    """
    secret = Secret.read(text)
    if secret is None:
        raise refuse("a token as `tacticapi token draft` prints it", VARIABLE)
    club_id, now = secret.club_id, desk.now()
    if club_id in club_ids(desk.engine) or tokens.any_made(desk):
        return None
    club = Club(club_id, CLUB_LABEL, KEEP_DAYS, KEEP_DAYS_UNDER_18, 1, now)
    scopes = list(tokens.SCOPES)
    token = Token(club_id, secret.token_id, TOKEN_LABEL, secret.digest, scopes, now, None, None, None)
    with desk.work(club_id) as work:
        work.clubs.add(club)
        work.tokens.add(token)
        work.commit()
    return token
