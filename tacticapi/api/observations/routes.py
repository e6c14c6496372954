"""/v1/matches/{match_id}/observations: add one, a list or many lines; list, get."""

from typing import Any

from flask import Response, request

from tacticapi.api.auth import club_id
from tacticapi.api.deployment import kept_services
from tacticapi.api.entries import entries_page, entry_answer, made, receipt_body, written
from tacticapi.api.nouns import IDEMPOTENCY_KEY, IF_NONE_MATCH, LOCATED, KeptNoun, answer
from tacticapi.api.observations.bulk import lines_body, read_lines
from tacticapi.api.observations.schemas import (
    ADDED,
    JSON_LINES,
    MOST_LINES,
    REQUEST_BODY,
    KeptObservationPage,
    KeptObservationSchema,
    LinesSchema,
    ObservationsQuery,
)
from tacticapi.api.once import once
from tacticapi.api.parsing import json_body, plain_body
from tacticapi.api.problems import INVALID_BODY, refuse
from tacticapi.api.situations.observations import MOST_OBSERVATIONS
from tacticapi.club import entries
from tacticapi.knowledge import Fault

blueprint = KeptNoun("observations", "What was seen in a match. Entries are added, never changed.")
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
    return made(receipt_body(written(match_id, posted, entries.add_observation, entries.withdraw_observation)))


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
    if not 1 <= len(posted) <= MOST_OBSERVATIONS:
        refuse(INVALID_BODY, faults=[Fault((), posted, f"a list of 1 to {MOST_OBSERVATIONS:,} observations")])
    receipts = entries.add_observations(kept_services(), club_id(), match_id, posted, once=once(posted))
    return answer({"items": [receipt_body(receipt) for receipt in receipts]}, 201)


def _add_lines(match_id: str) -> Response:
    body = plain_body(request)
    read = read_lines(body, MOST_LINES)
    bodies = [line.body for line in read]
    repeat = once(body.decode("utf-8", "replace"))
    return answer(
        lines_body(read, entries.add_observations_in_bulk(kept_services(), club_id(), match_id, bodies, once=repeat))
    )
