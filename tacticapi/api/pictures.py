"""Routes for pictures of a match: the win chance, the beliefs, and where the opponent serves."""

from collections.abc import Callable
from functools import partial, wraps
from typing import Any

from flask import Response

from tacticapi.api.debrief import drawn_beliefs, drawn_points
from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import IF_NONE_MATCH, SVG, KeptBlueprint, offers, picture_answer
from tacticapi.api.http.conditional import polled, rules_tag_of
from tacticapi.api.http.fields import a_choice
from tacticapi.api.http.paging import PlainInteger
from tacticapi.api.http.problems import refuse
from tacticapi.club import debrief, matches
from tacticapi.domain.situation import Moment
from tacticapi.pictures.court import serve_spots

MAX_BELIEFS, BELIEFS = 100, 12
MOMENT = a_choice(
    Moment,
    "The moment of viewing, on which permissions depend. Default: before or after the match or, during it, "
    "between points, when events permit least.",
)
blueprint = KeptBlueprint("pictures")
BELIEVED = "Beliefs about your opponent, and what was seen"
SERVES = {None: "Where your opponent serves", "first": "Where first serves go", "second": "Where second serves go"}


def _picture(name: str, **query: Any) -> Callable[[Callable[..., str]], None]:
    """Add a picture's route. The function draws it from the services, club, match, moment and the query's members."""

    def add(draw: Callable[..., str]) -> None:
        address = f"/v1/matches/<id:match_id>/pictures/{name}"

        @blueprint.get(address, endpoint=draw.__name__, scope="advise", reads=IF_NONE_MATCH, conflict=True)
        @blueprint.query(moment=MOMENT, **query)
        @blueprint.response(200, description="The picture, with a title and a text alternative.")
        @offers(SVG)
        @wraps(draw)
        def view(asked: dict[str, Any], match_id: str) -> Response:
            tag = rules_tag_of(name, matches.revision(*here(), match_id), sorted(asked.items()))
            moment = Moment(asked.pop("moment")) if "moment" in asked else None

            def drawn() -> Response:
                try:
                    return picture_answer(draw(*here(), match_id, moment, **asked))
                except ValueError as empty:
                    refuse("not-found", f"{empty}: nothing has been stored for it yet")

            return polled(tag, drawn)

    return add


@_picture("win-curve")
def draw_win_curve(*at: Any) -> str:
    """Draw the chance of winning the match after each point, and the points that mattered most.

    Refused (403) if only safety advice may be shown at that moment; 404 while no point is stored.
    """
    return drawn_points(*debrief.score_story(*at), listed=True)


@_picture(
    "beliefs",
    limit=PlainInteger(f"Maximum number of beliefs, largest changes first. Default: {BELIEFS}.", 1, MAX_BELIEFS),
)
def draw_beliefs(*at: Any, limit: int = BELIEFS) -> str:
    """Draw the beliefs about the opponent as bars, each with its observations in counts.

    The picture shows the beliefs behind the advice at that moment, except those about health. Refused (403) if only
    safety advice may be shown at that moment; 404 while there are no observations.
    """
    return drawn_beliefs(debrief.seen_beliefs(*at)[:limit], "beliefs", BELIEVED)


@_picture(
    "serve-spots",
    serve=a_choice(("first", "second"), "Only these serves. Default: all, including serves of unknown kind."),
)
def draw_serve_spots(*at: Any, serve: str | None = None) -> str:
    """Draw where the opponent serves: the share of serves to each spot in the service boxes, with counts.

    The picture is based on the serve spots entered so far. Refused (403) if only safety advice may be shown at that
    moment; 404 while there are none.
    """
    counts = partial(debrief.serve_counts, serve=serve)
    return serve_spots(counts(*at), "serves", SERVES[serve])
