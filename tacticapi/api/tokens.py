"""Tokens of the club, and one-time links that let one phone into one match."""

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
_QUIET = 4  # light modules round a code, which a reader needs
_SECRET = "Sent as `Authorization: Bearer …`. Shown now and never again."


class NewTokenSchema(wire.Shape):
    """A new token of the club."""

    label = wire.Text(MAX_LABEL, required=True, says="Whose it is, or what it is for; no full name.")
    scopes = wire.Items(
        wire.Word(SCOPES, required=True), len(SCOPES), least=1, required=True, says="What it may do, each scope once."
    )
    expires_at = wire.Time(says="When it ends. Default: never.")


class TokenSchema(wire.Answer):
    """A token as kept, which holds only a hash of its secret."""

    id = wire.an_id("Id of the token, which is no secret.")
    label = wire.a_text("Its owner or purpose.")
    scopes = wire.texts(
        "What it may do. `link`: nothing yet, until its link is opened; then `court`.", of=clubs.scopes_of
    )
    match_id = wire.an_id("The only match that it opens.", absent=True, of=clubs.match_of)
    created_at = wire.a_time("When it was made.")
    expires_at = wire.a_time("When it ends; absent: never.", absent=True)
    revoked_at = wire.a_time("When it was closed.", absent=True)
    last_used = wire.a_text(
        "The day of its last use, in UTC.", absent=True, of=lambda one: one.last_used and one.last_used.isoformat()
    )


class IssuedTokenSchema(TokenSchema):
    """A new token with its secret."""

    token = wire.a_text(_SECRET)


class CourtLinkSchema(wire.Answer):
    """A link that lets one phone into one match, once."""

    id = wire.an_id("Id of its token, by which it can be closed.")
    url = wire.a_text("The link, for one phone.")
    qr = wire.a_text("The same as a QR code, an SVG picture.")
    open_until = wire.a_time("When the link ends.", of=lambda token: token.created_at + clubs.LINK_TIME)
    expires_at = wire.a_time("When the token ends.")


class NewCourtTokenSchema(wire.Shape):
    """The code at the end of a link."""

    code = wire.Text(MAX_CODE, required=True, says="As the link has it, from `link_` on.")


class CourtTokenSchema(wire.Answer):
    """A token that opens only one match."""

    token = wire.a_text(_SECRET)
    match_id = wire.an_id("The match.", of=clubs.match_of)
    expires_at = wire.a_time("When the token ends.")


blueprint = routes.KeptBlueprint("tokens")


@blueprint.route("/v1/tokens")
@blueprint.needs("manage")
@blueprint.query(PageQuery)
@blueprint.response(200, page_schema(TokenSchema), description="One page of tokens.")
def list_tokens(query: dict[str, Any]) -> Response:
    """List the tokens of the club.

    In the order in which they were made, those that ended included until they are swept.
    """
    return kept_page(query, clubs.tokens_of, TokenSchema.written)


@blueprint.route("/v1/tokens", methods=["POST"])
@blueprint.needs("manage")
@blueprint.arguments(NewTokenSchema)
@blueprint.response(201, IssuedTokenSchema, description="The token, with its secret.")
def add_token(posted: dict[str, Any]) -> Response:
    """Make a token of the club.

    Its secret is shown once. The first token of a service ends the access without one from its own machine.
    """
    label, scopes, expires_at = posted["label"], posted["scopes"], posted.get("expires_at")
    issued = clubs.create_token(*here(), label, scopes, expires_at=expires_at)
    return routes.answer(IssuedTokenSchema.written(issued.token, token=issued.text), 201)


@blueprint.route("/v1/tokens/<id:token_id>", methods=["DELETE"])
@blueprint.needs("manage", conflict=True)
@blueprint.response(204, description="The token is closed.")
def revoke_token(token_id: str) -> Response:
    """Close a token for good.

    Its line stays until it is swept. The token that asks cannot close itself, so that nobody locks themselves out.
    """
    clubs.revoke_token(*here(), token_id, asking=access().token)
    return Response(status=204)


@blueprint.route("/v1/matches/<id:match_id>/court-links", methods=["POST"])
@blueprint.needs("manage")
@blueprint.response(201, CourtLinkSchema, description="The link.")
def add_court_link(match_id: str) -> Response:
    """Make a link that lets one phone into a match.

    It is opened once, within 15 minutes, and exchanged for a token of the scope `court`, which records and reads this
    match and nothing else, for two days. Such a token may hand the match on, with the same end at the latest.
    """
    own = access().token
    issued = clubs.create_court_link(*here(), match_id, expires_at=own.expires_at if own else None)
    url = url_for("pages.match", _external=True, _anchor=f"/court/{issued.text}")
    code = segno.make(url, error="l", micro=False)
    drawn = code.svg_inline(
        border=_QUIET, omitsize=True, light="#fff", svgclass=None, lineclass=None, title="The link as a code to scan"
    )
    return routes.answer(CourtLinkSchema.written(issued.token, url=url, qr=drawn), 201)


@blueprint.route("/v1/court-tokens", methods=["POST"])
@blueprint.arguments(NewCourtTokenSchema)
@blueprint.response(201, CourtTokenSchema, description="The token.")
@blueprint.doc(responses={410: "GONE", 404: "NOT_FOUND", 503: "SERVICE_UNAVAILABLE"})
def open_court_link(posted: dict[str, Any]) -> Response:
    """Exchange the code of a link for its token.

    The code is the key, so no token is needed. It works once: afterwards, and after its time, the answer is 410.
    """
    issued = clubs.open_court_link(kept_services(), posted["code"])
    return routes.answer(CourtTokenSchema.written(issued.token, token=issued.text), 201)
