"""Routes for a club: retention periods, export and import, and erasing players."""

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
from tacticapi.api.http.problems import refuse
from tacticapi.club import clubs, players, retention
from tacticapi.club.clubs import MAX_KEEP_DAYS
from tacticapi.club.export import export
from tacticapi.club.importing import fill_club
from tacticapi.club.services import MAX_LABEL
from tacticapi.rulebook.files import Fault

_KEEP = "Days for which a match is kept after it ends. Absent if kept for good; to keep matches for good, send null."
_KEEP_UNDER_18 = "Days for matches with a player under 18 or of unknown age."


class ClubChangeSchema(Shape):
    """Changes to a club. Absent members are unchanged; null days keep matches forever."""

    keeps_null = True

    label = Text(MAX_LABEL, says="The club's name.", null=False)
    keep_days = Whole(1, MAX_KEEP_DAYS, says=_KEEP)
    keep_days_under_18 = Whole(1, MAX_KEEP_DAYS, says=_KEEP_UNDER_18)


class ClubSchema(Answer):
    """A club."""

    id = an_id("The club's id.", of="club_id")
    label = a_text("The club's name.")
    keep_days = a_count(_KEEP, absent=True)
    keep_days_under_18 = a_count(_KEEP_UNDER_18, absent=True)
    version = a_count("Number of changes; also the ETag.")
    created_at = a_time("When the club was created.")


class ImportedSchema(Shape):
    """The number of rows that were imported."""

    rows = a_count("Number of rows, without the club's own line.")
    matches = a_count("Number of matches among them.")


_LINES = {"type": "string", "description": "An export as JSON Lines, at most 8 MiB. Each error names its line."}
FORMS = (routes.JSON, routes.JSON_LINES)
blueprint = routes.KeptBlueprint("clubs")


@blueprint.get("/v1/club", scope="read", reads=routes.IF_NONE_MATCH)
@blueprint.response(200, ClubSchema, description="The club.")
def get_club() -> Response:
    """Get the club that the token belongs to.

    The response includes how long the club keeps matches. To change the club, send its ETag in If-Match.
    """
    return read_answer(clubs.get(*here()), ClubSchema.written)


@blueprint.patch("/v1/club", scope="manage", reads=routes.IF_MATCH)
@blueprint.arguments(ClubChangeSchema)
@blueprint.response(200, ClubSchema, description="The updated club.")
def change_club(posted: dict[str, Any]) -> Response:
    """Update the club's label or how long it keeps matches.

    Matches past their retention period are deleted at the next nightly sweep.
    """
    at = here()
    club = clubs.get(*at)
    return edited(club, posted, ClubChangeSchema, lambda: clubs.update(*at, club.version, **posted), ClubSchema.written)


@blueprint.get("/v1/club/export", scope="manage")
@blueprint.response(200, description="The club's data.")
@routes.offers(*FORMS)
def export_club() -> Response:
    """Export everything stored about the club.

    The export is a list, or JSON Lines (Accept: application/x-ndjson): a first line, one line per row, and a last line
    with the number of rows. It is a single snapshot, streamed as it is read; without its last line, it was cut off.
    Health items and tokens are left out, and so is advice on a match in progress if only safety advice may be read.
    `tacticapi import` can load an export into any database.
    """
    lines = export(*here())
    first = next(lines)  # refuse before the response begins
    as_lines = routes.wanted(*FORMS) == routes.JSON_LINES
    told = chain([first], lines) if as_lines else _list(first, lines)
    response = Response(told, mimetype=routes.JSON_LINES if as_lines else routes.JSON)
    response.headers["Content-Disposition"] = f'attachment; filename="club.{"jsonl" if as_lines else "json"}"'
    response.vary.add("Accept")
    return response


@blueprint.post(IMPORT_PATH, scope="manage", conflict=True)
@blueprint.response(200, ImportedSchema, description="What was imported.")
@blueprint.doc(requestBody={"required": True, "content": {routes.JSON_LINES: {"schema": _LINES}}})
def import_into_club() -> Response:
    """Import an export into the club.

    Imports are all-or-nothing. The club must have no players or matches; it keeps its label and retention periods. Rows
    keep their ids from the export. The club's other requests get 503 until the import ends. Use `tacticapi import` for
    longer exports.
    """
    if request.mimetype not in (routes.JSON_LINES, "application/jsonl"):
        refuse("unsupported-media-type", f"an export is sent as {routes.JSON_LINES}")
    request.max_content_length = MAX_IMPORT
    counts = fill_club(*here(), _lines(plain_body(request)))
    return routes.answer({"rows": sum(counts.values()), "matches": counts.get("match", 0)})


def _lines(body: bytes) -> Iterator[str]:
    for number, line in enumerate(BytesIO(body), 1):
        try:
            yield line.decode()
        except UnicodeDecodeError as error:
            refuse("invalid-body", faults=[Fault(("line", number), None, f"UTF-8 text; byte {error.start} is invalid")])


@blueprint.delete("/v1/players/<id:player_id>", scope="manage", reads=routes.ANY_VERSION)
@blueprint.response(204, description="The player is erased.")
def erase_player(player_id: str) -> Response:
    """Erase a player for good, with everything that names them.

    Matches with neither player left are deleted. Other matches stay, without the player, so that what the other player
    did still counts. Free text that contains the player's label is deleted, and so is the advice on those matches.
    Backups still contain the player.
    """
    named_version(players.get(*here(), player_id).version)
    retention.erase_player(*here(), player_id)
    return Response(status=204)


def _list(first: str, lines: Iterator[str]) -> Iterator[str]:
    yield f"[{first.rstrip()}"
    for line in lines:
        yield f",\n{line.rstrip()}"
    yield "]\n"
