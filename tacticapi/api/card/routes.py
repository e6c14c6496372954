"""/v1/matches/{match_id}/card."""

from typing import Any

from flask import Response

from tacticapi import __version__
from tacticapi.api.auth import club_id
from tacticapi.api.card.as_page import card_page
from tacticapi.api.card.schemas import CardQuery
from tacticapi.api.conditional import tag_of, tagged, unchanged
from tacticapi.api.debrief.as_page import POLICY
from tacticapi.api.deployment import deployment, kept_services
from tacticapi.api.nouns import IF_NONE_MATCH, KeptNoun
from tacticapi.api.offers import HTML, offers
from tacticapi.api.problems import INVALID_QUERY, refuse
from tacticapi.club import Refused, matches
from tacticapi.club.card import plan_card
from tacticapi.domain.terms import Moment

blueprint = KeptNoun("card", "A plan card to print before a match.")


@blueprint.route("/v1/matches/<id:match_id>/card")
@blueprint.needs("advise", IF_NONE_MATCH)
@blueprint.arguments(CardQuery, location="query")
@blueprint.response(200, description="The card: a page of A6 to print.")
@blueprint.doc(
    operationId="getCard",
    responses={200: {"content": {HTML: {"schema": {"type": "string"}}}}, 403: "FORBIDDEN"},
)
@offers(HTML)
def get_card(query: dict[str, Any], match_id: str) -> Response:
    """Get a plan card: one page of A6, for a bag where devices are not allowed.

    Two serve targets and a return stance as small courts, two rally rules, one for pressure, when to change, and what
    to take care of; safety before it or, where it must, instead of it. Health items are never on it but as safety. Made
    from the same ranking as /suggestions, before the match unless `moment` says otherwise, and not kept as advice
    given. Refused (403) where the event does not permit advice at that moment. The event's rules on notes are for the
    reader to check, and the card says so.
    """
    services, club = kept_services(), club_id()
    revision = matches.revision(services, club, match_id)
    tag = tag_of("card", revision, query["moment"], deployment().rulebook.digest, __version__)
    held = unchanged(tag)
    if held is not None:
        return held
    try:
        page = card_page(plan_card(services, club, match_id, Moment(query["moment"])))
    except Refused as refused:
        refuse(INVALID_QUERY, faults=refused.faults)
    response = Response(page, mimetype=HTML)
    response.headers["Content-Security-Policy"] = POLICY
    return tagged(response, tag)
