"""Routes of the pictures of a match: the win chance, the beliefs, and where the opponent serves."""

from collections.abc import Callable
from functools import partial
from typing import Any

from flask import Response

from tacticapi import __version__
from tacticapi.api.debrief import drawn_beliefs, drawn_points
from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import IF_NONE_MATCH, SVG, KeptBlueprint, offers, picture_answer
from tacticapi.api.http.conditional import polled, tag_of
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import a_choice
from tacticapi.api.http.paging import PlainInteger
from tacticapi.api.http.problems import NOT_FOUND, refuse
from tacticapi.club import debrief, matches
from tacticapi.domain.situation import Moment
from tacticapi.pictures.court import serve_spots

MAX_BELIEFS, BELIEFS = 100, 12
MOMENT = a_choice(
    Moment,
    "The moment of viewing, on which permissions depend. Default: before the match, after it, or, during it, "
    "between points, when an event permits least.",
)
blueprint = KeptBlueprint("pictures")
BELIEVED = "Beliefs about your opponent, and what was seen"
SERVES = {None: "Where your opponent serves", "first": "Where first serves go", "second": "Where second serves go"}
SAID = "The picture, with a title and a text alternative."


@blueprint.route("/v1/matches/<id:match_id>/pictures/win-curve")
@blueprint.needs("advise", IF_NONE_MATCH, conflict=True)
@blueprint.query(moment=MOMENT)
@blueprint.response(200, description=SAID)
@offers(SVG)
def draw_win_curve(query: dict[str, Any], match_id: str) -> Response:
    """Draw the chance to win the match after each point, and the points that mattered most.

    Refused (403) if only safety may be shown at the moment; 404 while no point is stored.
    """
    return _drawn("win-curve", match_id, query, lambda *asked: drawn_points(*debrief.score_story(*asked), listed=True))


@blueprint.route("/v1/matches/<id:match_id>/pictures/beliefs")
@blueprint.needs("advise", IF_NONE_MATCH, conflict=True)
@blueprint.query(
    moment=MOMENT,
    limit=PlainInteger(f"Maximum number of beliefs, largest changes first. Default: {BELIEFS}.", 1, MAX_BELIEFS),
)
@blueprint.response(200, description=SAID)
@offers(SVG)
def draw_beliefs(query: dict[str, Any], match_id: str) -> Response:
    """Draw the beliefs about the opponent as bars, each with its observations in counts.

    The beliefs behind the advice at that moment, except those about health. Refused (403) if only safety may be shown
    at the moment; 404 while there are no observations.
    """
    most = query.get("limit", BELIEFS)

    def draw(*asked: Any) -> str:
        return drawn_beliefs(debrief.seen_beliefs(*asked)[:most], "beliefs", BELIEVED)

    return _drawn("beliefs", match_id, query, draw)


@blueprint.route("/v1/matches/<id:match_id>/pictures/serve-spots")
@blueprint.needs("advise", IF_NONE_MATCH, conflict=True)
@blueprint.query(
    moment=MOMENT,
    serve=a_choice(("first", "second"), "Only these serves. Default: all, including serves of unknown kind."),
)
@blueprint.response(200, description=SAID)
@offers(SVG)
def draw_serve_spots(query: dict[str, Any], match_id: str) -> Response:
    """Draw where the opponent serves: the share of each spot of the service boxes, with counts.

    Based on the serve places entered so far. Refused (403) if only safety may be shown at the moment; 404 while there
    are none.
    """
    serve = query.get("serve")

    def draw(*asked: Any) -> str:
        counts = partial(debrief.serve_counts, serve=serve)
        return serve_spots(counts(*asked), "serves", SERVES[serve])

    return _drawn("serve-spots", match_id, query, draw)


def _drawn(name: str, match_id: str, query: dict[str, Any], draw: Callable[..., str]) -> Response:
    """Return the picture that `draw` makes of a match at a moment, or 304 if the client has it already."""
    moment, asked = query.get("moment"), sorted(query.items())
    tag = tag_of(name, matches.revision(*here(), match_id), asked, deployment().rulebook.digest, __version__)

    def drawn() -> Response:
        try:
            return picture_answer(draw(*here(), match_id, Moment(moment) if moment else None))
        except ValueError as empty:
            refuse(NOT_FOUND, f"{empty}: nothing has been stored for it yet")

    return polled(tag, drawn)
