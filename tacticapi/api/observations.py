"""What was seen in a match: one, a list, or JSON Lines in bulk; corrected and taken back by further entries."""

from dataclasses import dataclass
from typing import Any

from flask import Response, request
from marshmallow import fields

from tacticapi.api.entries import (
    EntrySchema,
    LinksSchema,
    ReceiptSchema,
    WithdrawalSchema,
    as_posted,
    entries_page,
    entry_answer,
    made,
    written,
)
from tacticapi.api.http.access import club_id
from tacticapi.api.http.blueprint import IDEMPOTENCY_KEY, IF_NONE_MATCH, LOCATED, KeptBlueprint, answer
from tacticapi.api.http.bodies import StrictJsonError, json_body, once, plain_body, strict_json
from tacticapi.api.http.deployment import kept_services
from tacticapi.api.http.fields import Shape, a_count, a_list
from tacticapi.api.http.paging import Digits, KeptPageQuery, Sought, page_schema
from tacticapi.api.http.problems import INVALID_BODY, TOO_LARGE, FaultSchema, fault_body, refuse
from tacticapi.api.situations import MAX_OBSERVATIONS, ObservationSchema
from tacticapi.club import entries
from tacticapi.club.entries import Line
from tacticapi.rulebook.files import Fault

MAX_LINES = 2_000
JSON_LINES = ("application/jsonl", "application/x-ndjson")


class NewObservationSchema(ObservationSchema, LinksSchema):
    """One thing seen; with `supersedes` it stands in the place of another entry."""


class ReceiptsSchema(Shape):
    """What was added, in the order of the list."""

    items = a_list(ReceiptSchema, "One receipt an observation.")


class LineSchema(Shape):
    """What became of one line: a receipt, or its faults."""

    line = a_count("Number of the line, from 1.")
    id = fields.UUID(metadata={"description": "Id of the entry; absent where the line was refused."})
    sequence = fields.Integer(metadata={"description": "Its place in the match."})
    recorded_at = fields.AwareDateTime(metadata={"description": "When it was added."})
    errors = fields.List(
        fields.Nested(FaultSchema), metadata={"description": "Why the line was refused; absent where it was added."}
    )


class LinesSchema(Shape):
    """What became of every line that was not blank."""

    items = a_list(LineSchema, "In the order of the lines.")
    added = a_count("Lines that were added.")
    refused = a_count("Lines that were refused.")


class KeptObservationSchema(EntrySchema):
    """An observation as kept."""

    observation = as_posted("What was seen, as posted")


class ObservationsQuery(KeptPageQuery):
    """Which observations are wanted."""

    what = Sought("Only this id of the vocabulary.")
    set = Digits(metadata={"description": "Only this set. Absent: all."})
    game = Digits(metadata={"description": "Only this game of a set. Absent: all."})


KeptObservationPage = page_schema(KeptObservationSchema)
_LIST = {"type": "array", "items": ObservationSchema, "maxItems": MAX_OBSERVATIONS}
_LINES = {
    "type": "string",
    "description": f"At most {MAX_LINES:,} lines, each the JSON of one observation; blank lines are skipped.",
}
REQUEST_BODY: dict[str, Any] = {
    "required": True,
    "content": {
        "application/json": {"schema": {"oneOf": [NewObservationSchema, WithdrawalSchema, _LIST]}},
        **{media_type: {"schema": _LINES} for media_type in JSON_LINES},
    },
}
ADDED: dict[str, Any] = {"oneOf": [ReceiptSchema, ReceiptsSchema]}


MAX_FAULTS = 10  # a line; one with more is no observation


@dataclass(frozen=True, slots=True)
class Read:
    """A line that was not blank: its number from 1, its JSON, and the faults for which it is none."""

    number: int
    body: Any
    faults: tuple[Fault, ...]


def read_lines(body: bytes, most: int) -> list[Read]:
    """The lines of a body that are not blank. Ends the request where there are too many."""
    lines = [(number, line) for number, line in enumerate(body.split(b"\n"), 1) if line.strip()]
    if len(lines) > most:
        refuse(TOO_LARGE, f"at most {most:,} lines")
    return [_read(number, line) for number, line in lines]


def lines_body(read: list[Read], kept: list[Line]) -> dict[str, Any]:
    """The answer to a bulk."""
    items = [_line_body(line, became) for line, became in zip(read, kept, strict=True)]
    added = sum("id" in item for item in items)
    return {"items": items, "added": added, "refused": len(items) - added}


def _read(number: int, line: bytes) -> Read:
    try:
        return Read(number, strict_json(line), ())
    except StrictJsonError as error:
        return Read(number, None, error.faults)


def _line_body(line: Read, became: Line) -> dict[str, Any]:
    if became.receipt:
        return {"line": line.number, **ReceiptSchema.written(became.receipt)}
    faults = line.faults or became.faults
    return {"line": line.number, "errors": [fault_body(fault) for fault in faults[:MAX_FAULTS]]}


blueprint = KeptBlueprint("observations", "What was seen in a match. Entries are added, never changed.")
_COLUMNS = {"what": "kind", "set": "set_number", "game": "game_number"}


@blueprint.route("/v1/matches/<id:match_id>/observations", methods=["POST"])
@blueprint.needs("observe", IDEMPOTENCY_KEY)
@blueprint.response(200, LinesSchema, description="What became of each line of JSON Lines.")
@blueprint.response(201, ADDED, description="A receipt; for a list one each.", headers=LOCATED)
@blueprint.doc(operationId="addObservations", requestBody=REQUEST_BODY)
def add_observations(match_id: str) -> Response:
    """Add what was seen: one observation, a list, or JSON Lines.

    Of a list all are added or, with any fault, none. Of JSON Lines each good line is added, and each line is answered.
    Counts of one kind and game add up. A single entry with `supersedes` corrects another, one with `withdraws` takes
    it back; the history stays. With an Idempotency-Key, what is sent again is added once.
    """
    if request.mimetype in JSON_LINES:
        return _add_lines(match_id)
    posted = json_body(request)
    if isinstance(posted, list):
        return _add_list(match_id, posted)
    if not isinstance(posted, dict):
        refuse(INVALID_BODY, faults=[Fault((), posted, "an observation, or a list of them")])
    return made(ReceiptSchema.written(written(match_id, posted, entries.add_observation, entries.withdraw_observation)))


@blueprint.route("/v1/matches/<id:match_id>/observations")
@blueprint.needs("read", IF_NONE_MATCH)
@blueprint.arguments(ObservationsQuery, location="query")
@blueprint.response(200, KeptObservationPage, description="One page of observations.")
@blueprint.doc(operationId="listObservations")
def list_observations(query: dict[str, Any], match_id: str) -> Response:
    """List the observations of a match.

    In the order in which they were added, superseded and withdrawing ones included.
    """
    equal = {column: query[name] for name, column in _COLUMNS.items() if name in query}
    return entries_page(match_id, query, "observations", "observation", **equal)


@blueprint.route("/v1/matches/<id:match_id>/observations/<id:entry_id>")
@blueprint.needs("read")
@blueprint.response(200, KeptObservationSchema, description="The observation.")
@blueprint.doc(operationId="getObservation")
def get_observation(match_id: str, entry_id: str) -> Response:
    """Get one observation of a match.

    As it was posted, also where another has superseded it.
    """
    return entry_answer(match_id, entry_id, "observations", "observation")


def _add_list(match_id: str, posted: list[Any]) -> Response:
    if not 1 <= len(posted) <= MAX_OBSERVATIONS:
        refuse(INVALID_BODY, faults=[Fault((), posted, f"a list of 1 to {MAX_OBSERVATIONS:,} observations")])
    receipts = entries.add_observations(kept_services(), club_id(), match_id, posted, once=once(posted))
    return answer({"items": [ReceiptSchema.written(receipt) for receipt in receipts]}, 201)


def _add_lines(match_id: str) -> Response:
    body = plain_body(request)
    read = read_lines(body, MAX_LINES)
    bodies = [line.body for line in read]
    repeat = once(body.decode("utf-8", "replace"))
    return answer(
        lines_body(read, entries.add_observations_in_bulk(kept_services(), club_id(), match_id, bodies, once=repeat))
    )
