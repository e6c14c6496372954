"""/v1/matches/{match_id}/tries: add, list, get."""

from typing import Any

from flask import Response

from tacticapi.api.entries import ReceiptSchema, entries_page, entry_answer, made, receipt_body, written
from tacticapi.api.nouns import IDEMPOTENCY_KEY, IF_NONE_MATCH, LOCATED, KeptNoun
from tacticapi.api.paging import KeptPageQuery
from tacticapi.api.tries.schemas import KeptTriesSchema, NewTriesSchema, TriesPage
from tacticapi.club import entries

blueprint = KeptNoun("tries", "Tactics tried in a match. Tries of one tactic add up.")


@blueprint.route("/v1/matches/<id:match_id>/tries", methods=["POST"])
@blueprint.needs("observe", IDEMPOTENCY_KEY)
@blueprint.arguments(NewTriesSchema)
@blueprint.response(201, ReceiptSchema, description="A receipt.", headers=LOCATED)
@blueprint.doc(operationId="addTries")
def add_tries(posted: dict[str, Any], match_id: str) -> Response:
    """Add how often a tactic was played as meant, and the points won by it.

    Tries of one tactic add up. An entry with `supersedes` corrects another, one with `withdraws` takes it back. With
    an Idempotency-Key, what is sent again is added once.
    """
    return made(receipt_body(written(match_id, posted, entries.add_tries, entries.withdraw_tries)))


@blueprint.route("/v1/matches/<id:match_id>/tries")
@blueprint.needs("read", IF_NONE_MATCH)
@blueprint.arguments(KeptPageQuery, location="query")
@blueprint.response(200, TriesPage, description="One page of tries.")
@blueprint.doc(operationId="listTries")
def list_tries(query: dict[str, Any], match_id: str) -> Response:
    """List the tries of a match.

    In the order in which they were added, superseded and withdrawing ones included.
    """
    return entries_page(match_id, query, "tries", "tries")


@blueprint.route("/v1/matches/<id:match_id>/tries/<id:entry_id>")
@blueprint.needs("read")
@blueprint.response(200, KeptTriesSchema, description="The tries.")
@blueprint.doc(operationId="getTries")
def get_tries(match_id: str, entry_id: str) -> Response:
    """Get one entry of tries of a match.

    As it was entered, also where another has superseded it.
    """
    return entry_answer(match_id, entry_id, "tries", "tries")
