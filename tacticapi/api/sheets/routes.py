"""/v1/templates, and /v1/matches/{match_id}/observations.csv and points.csv as they come back filled."""

from collections.abc import Iterable
from typing import Any

from flask import Response, request
from marshmallow import fields
from marshmallow.validate import OneOf

from tacticapi.api.auth import club_id
from tacticapi.api.deployment import deployment, kept_desk
from tacticapi.api.entries import receipt_body
from tacticapi.api.nouns import IDEMPOTENCY_KEY, KeptNoun, Noun, answer
from tacticapi.api.observations.bulk import Read, lines_body
from tacticapi.api.observations.schemas import LinesSchema
from tacticapi.api.offers import CSV, offers
from tacticapi.api.once import once
from tacticapi.api.parsing import plain_body
from tacticapi.api.problems import INVALID_BODY, MEDIA_TYPE_REFUSED, refuse
from tacticapi.api.shapes import Shape
from tacticapi.api.sheets.cells import MOST_LINES, Row
from tacticapi.api.sheets.columns import observations_of, observations_template, points_of, points_template
from tacticapi.domain.terms import Phase
from tacticapi.knowledge import Fault
from tacticapi.service import Refused, observations, point_list
from tacticapi.service.posted import observation_faults
from tacticapi.service.sheets import csv_line

templates = Noun("templates", "Sheets to fill in a spreadsheet.", of_the_rulebook=True)
sheets = KeptNoun("sheets", "Filled sheets as entries of a match.")
_TEXT = {"schema": {"type": "string"}}
_TEMPLATE: dict[str, Any] = {"responses": {200: {"content": {CSV: _TEXT}}}}
_SHEET = {"schema": {"type": "string", "description": f"CSV in UTF-8, a header first, at most {MOST_LINES:,} rows."}}
_BODY: dict[str, Any] = {"required": True, "content": {CSV: _SHEET}}


class TemplateQuery(Shape):
    """Which kinds are wanted."""

    phase = fields.String(
        validate=OneOf([phase.value for phase in Phase], error=f"one of {', '.join(Phase)}"),
        metadata={"description": "Only kinds that are seen then. Absent: all."},
    )


@templates.route("/v1/templates/observations.csv")
@templates.arguments(TemplateQuery, location="query")
@templates.response(200, description="A header, and a row to fill for each kind.")
@templates.doc(operationId="getObservationsTemplate", **_TEMPLATE)
@offers(CSV)
def get_observations_template(query: dict[str, Any]) -> Response:
    """Get a sheet to fill in with what was seen.

    A row for each kind of the vocabulary with its question; rows that are left empty count for nothing, and a kind may
    have several. The columns are those of a match's observations.csv.
    """
    phase = Phase(query["phase"]) if "phase" in query else None
    return _template(observations_template(deployment().rulebook, phase), "observations.csv")


@templates.route("/v1/templates/points.csv")
@templates.response(200, description="A header; each point is to be a row.")
@templates.doc(operationId="getPointsTemplate", **_TEMPLATE)
@offers(CSV)
def get_points_template() -> Response:
    """Get a sheet to fill in with points.

    `winner` is own or opponent; `own_error` is yes or no, where it is known.
    """
    return _template(points_template(), "points.csv")


@sheets.route("/v1/matches/<id:match_id>/observations.csv", methods=["POST"])
@sheets.needs("observe", IDEMPOTENCY_KEY)
@sheets.response(200, LinesSchema, description="What became of each filled row; `line` is its line in the sheet.")
@sheets.doc(operationId="addObservationsSheet", requestBody=_BODY)
def add_observations_sheet(match_id: str) -> Response:
    """Add the observations of a filled sheet.

    Each good row is added, and each filled row is answered. A header may name columns in any order and leave out what
    is not used, but for `what`. With an Idempotency-Key, what is sent again is added once.
    """
    body = _sheet()
    rulebook = deployment().rulebook
    read = []
    for row in observations_of(body):
        faults = tuple(observation_faults(row.cells, rulebook))
        read.append(Read(row.line, None if faults else row.cells, faults))
    bodies = [each.body for each in read]
    kept = observations.add_in_bulk(kept_desk(), club_id(), match_id, bodies, once=_once(body))
    return answer(lines_body(read, kept))


@sheets.route("/v1/matches/<id:match_id>/points.csv", methods=["POST"])
@sheets.needs("observe", IDEMPOTENCY_KEY)
@sheets.response(200, LinesSchema, description="A receipt for each point; `line` is its line in the sheet.")
@sheets.doc(operationId="addPointsSheet", requestBody=_BODY)
def add_points_sheet(match_id: str) -> Response:
    """Add the points of a filled sheet.

    In the order of the rows. All are added or, with any fault, none: each point follows from those before it. With an
    Idempotency-Key, what is sent again is added once.
    """
    body = _sheet()
    rows = points_of(body)
    try:
        kept = point_list.add_list(kept_desk(), club_id(), match_id, [row.cells for row in rows], once=_once(body))
    except Refused as refused:
        refuse(INVALID_BODY, faults=_at_lines(refused.faults, rows))
    items = [{"line": row.line, **receipt_body(receipt)} for row, receipt in zip(rows, kept, strict=True)]
    return answer({"items": items, "added": len(items), "refused": 0})


def _sheet() -> bytes:
    if request.mimetype != CSV:
        refuse(MEDIA_TYPE_REFUSED, f"this takes {CSV}")
    return plain_body(request)


def _once(body: bytes) -> Any:
    return once(body.decode("utf-8", "replace"))


def _at_lines(faults: Iterable[Fault], rows: list[Row]) -> list[Fault]:
    """The faults, each at the line of its row in place of the place in the list."""
    return [
        Fault((rows[f.path[0]].line, *f.path[1:]), f.value, f.expected) if f.path and isinstance(f.path[0], int) else f
        for f in faults
    ]


def _template(rows: Iterable[list[Any]], name: str) -> Response:
    response = Response("".join(csv_line(row) for row in rows), mimetype=CSV)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
