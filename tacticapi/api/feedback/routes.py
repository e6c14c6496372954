"""/v1/advice/{advice_id}/feedback and /v1/matches/{match_id}/feedback."""

from typing import Any

from flask import Response

from tacticapi.api.auth import club_id
from tacticapi.api.deployment import kept_services
from tacticapi.api.feedback.schemas import FeedbackPage, FeedbackSchema, NewFeedbackSchema
from tacticapi.api.nouns import IDEMPOTENCY_KEY, KeptNoun, answer
from tacticapi.api.once import once
from tacticapi.api.paging import KeptPageQuery, id_cursor, kept_page
from tacticapi.club import Feedback, advising

blueprint = KeptNoun("feedback", "What became of suggestions.")


@blueprint.route("/v1/advice/<id:advice_id>/feedback", methods=["POST"])
@blueprint.needs("observe", IDEMPOTENCY_KEY)
@blueprint.arguments(NewFeedbackSchema)
@blueprint.response(201, FeedbackSchema, description="The feedback.")
@blueprint.doc(operationId="addFeedback")
def add_feedback(posted: dict[str, Any], advice_id: str) -> Response:
    """Tell what became of a suggestion.

    That it was used, that it was not and why, or how it turned out. It changes no advice; it stands in the list of
    the match.
    """
    kept = advising.add_feedback(
        kept_services(),
        club_id(),
        advice_id,
        posted["tactic"],
        kind=posted["kind"],
        reason=posted.get("reason"),
        once=once(posted),
    )
    return answer(feedback_body(kept), 201)


@blueprint.route("/v1/matches/<id:match_id>/feedback")
@blueprint.needs("read")
@blueprint.arguments(KeptPageQuery, location="query")
@blueprint.response(200, FeedbackPage, description="One page of feedback.")
@blueprint.doc(operationId="listFeedback")
def list_feedback(query: dict[str, Any], match_id: str) -> Response:
    """List the feedback on the advice of a match.

    Oldest first.
    """
    after = id_cursor(query.get("cursor"))
    return kept_page(
        query,
        lambda most: advising.feedback_page(kept_services(), club_id(), match_id, after=after, limit=most),
        lambda line: line.id,
        feedback_body,
    )


def feedback_body(line: Feedback) -> dict[str, Any]:
    """Feedback as kept."""
    return {
        "id": line.id,
        "advice_id": line.snapshot_id,
        "tactic": line.tactic,
        "kind": line.kind,
        "reason": line.reason,
        "created_at": line.created_at.isoformat(),
    }
