"""/v1/players/{player_id}/dossier."""

from typing import Any

from flask import Response

from tacticapi.api.auth import club_id
from tacticapi.api.deployment import deployment, kept_services
from tacticapi.api.dossier.presenter import dossier_body, dossier_markdown
from tacticapi.api.dossier.schemas import DossierQuery, DossierSchema
from tacticapi.api.nouns import KeptNoun, answer
from tacticapi.api.offers import JSON, MARKDOWN, offers, wanted
from tacticapi.api.paging import listed
from tacticapi.api.problems import NOT_FOUND, refuse
from tacticapi.club import players
from tacticapi.club.dossier import dossier

blueprint = KeptNoun("dossier", "What is believed of an opponent across matches.")
FORMS = (JSON, MARKDOWN)
SURFACE = "context.surface"


@blueprint.route("/v1/players/<id:player_id>/dossier")
@blueprint.needs("read")
@blueprint.arguments(DossierQuery, location="query")
@blueprint.response(200, DossierSchema, description="The dossier.")
@blueprint.doc(operationId="getDossier", responses={200: {"content": {MARKDOWN: {"schema": {"type": "string"}}}}})
@offers(*FORMS)
def get_dossier(query: dict[str, Any], player_id: str) -> Response:
    """Get what is believed of an opponent across matches.

    Beliefs with what moved them, ageing, and the ended matches that they rest on with dates and surfaces. As JSON, or
    as Markdown (Accept: text/markdown). A match that goes on is no part of it, and is named in `playing`. While only
    safety may be read of that match, the dossier holds that and a notice alone.
    """
    if players.get(kept_services(), club_id(), player_id).side != "opponent":
        refuse(NOT_FOUND, "only an opponent has a dossier")
    surface = listed(query, "surface", deployment().rulebook.kinds[SURFACE].options)
    told = dossier(kept_services(), club_id(), player_id, surface=surface)
    if wanted(*FORMS) == MARKDOWN:
        response = Response(dossier_markdown(told, deployment().rulebook), mimetype=MARKDOWN)
    else:
        response = answer(dossier_body(told, deployment().rulebook))
    response.vary.add("Accept")
    return response
