"""/v1/matches/{match_id}: debrief, observations.csv, points.csv."""

from collections.abc import Iterator

from flask import Response

from tacticapi.api.auth import club_id
from tacticapi.api.debrief.as_markdown import debrief_markdown
from tacticapi.api.debrief.as_page import POLICY, debrief_page
from tacticapi.api.debrief.presenter import debrief_body
from tacticapi.api.debrief.schemas import DebriefSchema
from tacticapi.api.deployment import deployment, kept_services
from tacticapi.api.nouns import KeptNoun, answer
from tacticapi.api.offers import CSV, HTML, JSON, MARKDOWN, offers, wanted
from tacticapi.api.problems import NOT_ENDED, refuse
from tacticapi.club import export, matches
from tacticapi.club.debrief import debrief

blueprint = KeptNoun("debrief", "What a finished match leaves to learn, and its entries for a spreadsheet.")
FORMS = (JSON, MARKDOWN, HTML)
_TEXT = {"schema": {"type": "string"}}
_SHEET = {"responses": {200: {"content": {CSV: _TEXT}}}}


@blueprint.route("/v1/matches/<id:match_id>/debrief")
@blueprint.needs("read")
@blueprint.response(200, DebriefSchema, description="The debrief.")
@blueprint.doc(
    operationId="getDebrief",
    responses={200: {"content": {MARKDOWN: _TEXT, HTML: _TEXT}}, 409: "CONFLICT"},
)
@offers(*FORMS)
def get_debrief(match_id: str) -> Response:
    """Get the debrief of a match that has ended.

    The score's story, what was suggested, tried and won with intervals, beliefs at the start and at the end, what
    surprised, what to begin with next time. As JSON, as Markdown (Accept: text/markdown), or as a page to print
    (Accept: text/html). While the match goes on it is refused, since its event may not permit analysis then.
    """
    if matches.get(kept_services(), club_id(), match_id).status != "ended":
        refuse(NOT_ENDED, "end the match first")
    told, form = debrief(kept_services(), club_id(), match_id), wanted(*FORMS)
    if form == MARKDOWN:
        response = Response(debrief_markdown(told), mimetype=MARKDOWN)
    elif form == HTML:
        response = Response(debrief_page(told), mimetype=HTML)
        response.headers["Content-Security-Policy"] = POLICY
    else:
        response = answer(debrief_body(told, deployment().rulebook))
    response.vary.add("Accept")
    return response


@blueprint.route("/v1/matches/<id:match_id>/observations.csv")
@blueprint.needs("read")
@blueprint.response(200, description="One line an observation, a header first.")
@blueprint.doc(operationId="getObservationsSheet", **_SHEET)
@offers(CSV)
def get_observations_sheet(match_id: str) -> Response:
    """Get the observations of a match for a spreadsheet.

    Those that stand; corrected and withdrawn ones are left out, and health items too.
    """
    return _sheet(export.observations_csv(kept_services(), club_id(), match_id), "observations.csv")


@blueprint.route("/v1/matches/<id:match_id>/points.csv")
@blueprint.needs("read")
@blueprint.response(200, description="One line a point, a header first.")
@blueprint.doc(operationId="getPointsSheet", **_SHEET)
@offers(CSV)
def get_points_sheet(match_id: str) -> Response:
    """Get the points of a match for a spreadsheet.

    Each with the score before it, who served and who won.
    """
    return _sheet(export.points_csv(kept_services(), club_id(), match_id), "points.csv")


def _sheet(lines: Iterator[str], name: str) -> Response:
    response = Response(lines, mimetype=CSV)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
