"""The club of the token: how long it keeps what was seen, everything of it as an export, and players erased."""

from collections.abc import Iterator
from io import BytesIO
from itertools import chain
from typing import Any

from flask import Response, request

from tacticapi.api.http import blueprint as routes
from tacticapi.api.http.access import here
from tacticapi.api.http.bodies import IMPORT_PATH, MAX_IMPORT, plain_body
from tacticapi.api.http.conditional import edited, named_version, read_answer
from tacticapi.api.http.fields import Answer, Shape, Text, Whole, a_count, a_text, a_time, an_id
from tacticapi.api.http.problems import INVALID_BODY, MEDIA_TYPE_REFUSED, refuse
from tacticapi.club import clubs, players, retention
from tacticapi.club.clubs import MAX_KEEP_DAYS
from tacticapi.club.export import export
from tacticapi.club.importing import fill_club
from tacticapi.club.services import MAX_LABEL
from tacticapi.rulebook.files import Fault

_KEEP = "Days that a match is kept after its end; absent, in a change null: for good."
_KEEP_UNDER_18 = "The same if anyone in the match was under 18, or of unknown age."


class ClubChangeSchema(Shape):
    """What is to be changed. What is absent stays; null days keep for good."""

    keeps_null = True

    label = Text(MAX_LABEL, says="What the club is called.", null=False)
    keep_days = Whole(1, MAX_KEEP_DAYS, says=_KEEP)
    keep_days_under_18 = Whole(1, MAX_KEEP_DAYS, says=_KEEP_UNDER_18)


class ClubSchema(Answer):
    """A club."""

    id = an_id("Id of the club.", of="club_id")
    label = a_text("What it is called.")
    keep_days = a_count(_KEEP, absent=True)
    keep_days_under_18 = a_count(_KEEP_UNDER_18, absent=True)
    version = a_count("Counts changes; also the ETag.")
    created_at = a_time("When it was made.")


class ImportedSchema(Shape):
    """The number of rows that an import read."""

    rows = a_count("Rows, without the line of the club.")
    matches = a_count("Matches among them.")


_LINES = {"type": "string", "description": "An export as JSON Lines, of at most 8 MiB; a fault names its line."}
FORMS = (routes.JSON, routes.JSON_LINES)
blueprint = routes.KeptBlueprint("clubs")


@blueprint.route("/v1/club")
@blueprint.needs("read", routes.IF_NONE_MATCH)
@blueprint.response(200, ClubSchema, description="The club.")
def get_club() -> Response:
    """Get the club of the token.

    How long it keeps what was seen. The ETag is what a change names in If-Match.
    """
    return read_answer(clubs.get(*here()), ClubSchema.written)


@blueprint.route("/v1/club", methods=["PATCH"])
@blueprint.needs("manage", routes.IF_MATCH)
@blueprint.arguments(ClubChangeSchema)
@blueprint.response(200, ClubSchema, description="The club as it is now.")
def change_club(posted: dict[str, Any]) -> Response:
    """Change the label of the club, or how long it keeps what was seen.

    Matches past their days go at the next nightly sweep.
    """
    at = here()
    club = clubs.get(*at)
    return edited(club, posted, ClubChangeSchema, lambda: clubs.update(*at, club.version, **posted), ClubSchema.written)


@blueprint.route("/v1/club/export")
@blueprint.needs("manage")
@blueprint.response(200, description="Everything of the club.")
@routes.offers(*FORMS)
def export_club() -> Response:
    """Get everything of the club.

    As a list, or as JSON Lines (Accept: application/x-ndjson): a first line, one a row, a last one with their number.
    Read from one state of the database and sent as it is read; an export without its last line was cut off. Health
    items and tokens are left out, and the advice of a match that goes on while only safety may be read of it.
    `tacticapi import` reads it into any database.
    """
    lines = export(*here())
    first = next(lines)  # what is refused is refused before the answer begins
    as_lines = routes.wanted(*FORMS) == routes.JSON_LINES
    told = chain([first], lines) if as_lines else _list(first, lines)
    response = Response(told, mimetype=routes.JSON_LINES if as_lines else routes.JSON)
    response.headers["Content-Disposition"] = f'attachment; filename="club.{"jsonl" if as_lines else "json"}"'
    response.vary.add("Accept")
    return response


@blueprint.route(IMPORT_PATH, methods=["POST"])
@blueprint.needs("manage", conflict=True)
@blueprint.response(200, ImportedSchema, description="What was read.")
@blueprint.doc(requestBody={"required": True, "content": {routes.JSON_LINES: {"schema": _LINES}}})
def import_into_club() -> Response:
    """Read an export into the club.

    All of it or, with any fault, nothing. The club must have no players and matches; it keeps its label and days. Ids
    are those of the export. Until all is read, other requests of the club are answered with 503. Longer exports are for
    `tacticapi import`.
    """
    if request.mimetype not in (routes.JSON_LINES, "application/jsonl"):
        refuse(MEDIA_TYPE_REFUSED, f"an export is sent as {routes.JSON_LINES}")
    request.max_content_length = MAX_IMPORT
    counts = fill_club(*here(), _lines(plain_body(request)))
    return routes.answer({"rows": sum(counts.values()), "matches": counts.get("match", 0)})


def _lines(body: bytes) -> Iterator[str]:
    for number, line in enumerate(BytesIO(body), 1):
        try:
            yield line.decode()
        except UnicodeDecodeError as error:
            refuse(INVALID_BODY, faults=[Fault(("line", number), None, f"UTF-8 text; byte {error.start} is invalid")])


@blueprint.route("/v1/players/<id:player_id>", methods=["DELETE"])
@blueprint.needs("manage", routes.ANY_VERSION)
@blueprint.response(204, description="The player is gone.")
def erase_player(player_id: str) -> Response:
    """Erase a player for good, with everything that names them.

    Matches of which nobody is left go; others stay without the player, so that what the other player did still
    counts. Free text that holds the label goes, and the advice of those matches too. Backups still hold the player.
    """
    named_version(players.get(*here(), player_id).version)
    retention.erase_player(*here(), player_id)
    return Response(status=204)


def _list(first: str, lines: Iterator[str]) -> Iterator[str]:
    yield f"[{first.rstrip()}"
    for line in lines:
        yield f",\n{line.rstrip()}"
    yield "]\n"
