"""Routes for a club's tokens, and for one-time links that give one phone access to one match."""

from typing import Any

import segno
from flask import Response, url_for

from tacticapi.api.http import blueprint as routes
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import access, here
from tacticapi.api.http.deployment import kept_services
from tacticapi.api.http.paging import PageQuery, kept_page, page_schema
from tacticapi.club import clubs
from tacticapi.club.clubs import SCOPES
from tacticapi.club.services import MAX_LABEL

MAX_CODE = 200
_QUIET = 4  # light modules around a code, which a scanner needs
_SECRET = "The token itself, sent as `Authorization: Bearer …`. Shown only once."


class NewTokenSchema(wire.Shape):
    """A new token for the club."""

    label = wire.Text(MAX_LABEL, required=True, says="The token's owner or purpose; not a full name.")
    scopes = wire.Items(
        wire.Word(SCOPES, required=True), len(SCOPES), least=1, required=True, says="Scopes, without repeats."
    )
    expires_at = wire.Time(says="When the token expires. Default: never.")


class TokenSchema(wire.Answer):
    """A stored token. The service stores only a hash of its secret."""

    id = wire.an_id("Id of the token; not a secret.")
    label = wire.a_text("The token's owner or purpose.")
    scopes = wire.texts(
        "The token's scopes. `link` permits nothing until the link is opened, then becomes `court`.",
        of=lambda token: [scope.partition(":")[0] for scope in token.scopes],
    )
    match_id = wire.an_id("Id of the only match that it gives access to.", absent=True, of=clubs.match_of)
    created_at = wire.a_time("When the token was created.")
    expires_at = wire.a_time("When the token expires; absent if never.", absent=True)
    revoked_at = wire.a_time("When the token was revoked.", absent=True)
    last_used = wire.a_text(
        "The day of its last use (UTC).", absent=True, of=lambda one: one.last_used and one.last_used.isoformat()
    )


class IssuedTokenSchema(TokenSchema):
    """A new token with its secret."""

    token = wire.a_text(_SECRET)


class CourtLinkSchema(wire.Answer):
    """A one-time link that gives one phone access to one match."""

    id = wire.an_id("Id of its token; use it to revoke the link.")
    url = wire.a_text("The link; it works for one phone.")
    qr = wire.a_text("The link as a QR code, an SVG picture.")
    open_until = wire.a_time("When the link expires.", of=lambda token: token.created_at + clubs.LINK_TIME)
    expires_at = wire.a_time("When the token expires.")


class NewCourtTokenSchema(wire.Shape):
    """The code at the end of a link."""

    code = wire.Text(MAX_CODE, required=True, says="The end of the link, from `link_` on.")


class CourtTokenSchema(wire.Answer):
    """A token that gives access to only one match."""

    token = wire.a_text(_SECRET)
    match_id = wire.an_id("Id of the match.", of=clubs.match_of)
    expires_at = wire.a_time("When the token expires.")


blueprint = routes.KeptBlueprint("tokens")


@blueprint.get("/v1/tokens", scope="manage")
@blueprint.query(PageQuery)
@blueprint.response(200, page_schema(TokenSchema), description="One page of tokens.")
def list_tokens(query: dict[str, Any]) -> Response:
    """List the club's tokens.

    Tokens are listed in order of creation. Expired and revoked tokens stay listed until the nightly sweep.
    """
    return kept_page(query, clubs.tokens_of, TokenSchema.written)


@blueprint.post("/v1/tokens", scope="manage")
@blueprint.arguments(NewTokenSchema)
@blueprint.response(201, IssuedTokenSchema, description="The token with its secret.")
def add_token(posted: dict[str, Any]) -> Response:
    """Create a token for the club.

    Its secret is shown only once. Once a service has any token, requests from its own machine need one too.
    """
    issued = clubs.create_token(*here(), posted["label"], posted["scopes"], expires_at=posted.get("expires_at"))
    return routes.answer(IssuedTokenSchema.written(issued.token, token=issued.text), 201)


@blueprint.delete("/v1/tokens/<id:token_id>", scope="manage", conflict=True)
@blueprint.response(204, description="The token is revoked.")
def revoke_token(token_id: str) -> Response:
    """Revoke a token for good.

    The token stays listed until the nightly sweep. A token cannot revoke itself, so that nobody locks themselves out.
    """
    clubs.revoke_token(*here(), token_id, asking=access().token)
    return Response(status=204)


@blueprint.post("/v1/matches/<id:match_id>/court-links", scope="manage")
@blueprint.response(201, CourtLinkSchema, description="The link.")
def add_court_link(match_id: str) -> Response:
    """Create a one-time link that gives one phone access to a match.

    The link works once, within 15 minutes. It is exchanged for a token with the scope `court`, which covers only this
    match and lasts two days. Such a token can create further links; their tokens expire no later than its own.
    """
    own = access().token
    issued = clubs.create_court_link(*here(), match_id, expires_at=own.expires_at if own else None)
    url = url_for("pages.match", _external=True, _anchor=f"/court/{issued.text}")
    code = segno.make(url, error="l", micro=False)
    drawn = code.svg_inline(
        border=_QUIET, omitsize=True, light="#fff", svgclass=None, lineclass=None, title="The link as a QR code"
    )
    return routes.answer(CourtLinkSchema.written(issued.token, url=url, qr=drawn), 201)


@blueprint.post("/v1/court-tokens")
@blueprint.arguments(NewCourtTokenSchema)
@blueprint.response(201, CourtTokenSchema, description="The token.")
@blueprint.doc(responses={410: "GONE", 404: "NOT_FOUND", 503: "SERVICE_UNAVAILABLE"})
def open_court_link(posted: dict[str, Any]) -> Response:
    """Exchange the code of a link for its token.

    The code itself is the credential, so no token is needed. A code that was used or has expired gets 410.
    """
    issued = clubs.open_court_link(kept_services(), posted["code"])
    return routes.answer(CourtTokenSchema.written(issued.token, token=issued.text), 201)
