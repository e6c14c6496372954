"""What became of a suggestion: used, not used with the reason, or how it turned out."""

from typing import Any

from flask import Response

from tacticapi.api.http.access import club_id
from tacticapi.api.http.blueprint import IDEMPOTENCY_KEY, KeptBlueprint, answer
from tacticapi.api.http.bodies import once
from tacticapi.api.http.deployment import kept_services
from tacticapi.api.http.fields import Answer, Shape, Text, Word, a_text, a_time, a_word, an_id
from tacticapi.api.http.paging import KeptPageQuery, kept_page, page_schema
from tacticapi.api.situations import MAX_ID_LENGTH
from tacticapi.club import advising
from tacticapi.club.advising import KINDS, MAX_REASON, NOT_USED, OUTCOME, OUTCOMES, USED

_REASON = f"For {NOT_USED}: why. For {OUTCOME}: one of {', '.join(OUTCOMES)}. Absent: none, as for {USED}."


class NewFeedbackSchema(Shape):
    """What became of a suggestion. Points won by it are tries, not feedback."""

    tactic = Text(MAX_ID_LENGTH, required=True, says="Id of a tactic that the advice suggested.")
    kind = Word(KINDS, required=True, says="What is told.")
    reason = Text(MAX_REASON, says=_REASON)


class FeedbackSchema(Answer):
    """Feedback as kept."""

    id = an_id("Id of the line.")
    advice_id = an_id("The advice that it is on.", of="snapshot_id")
    tactic = a_text("Id of the tactic.")
    kind = a_word(KINDS, "What is told.")
    reason = a_text("The reason, or the outcome.", null=True)
    created_at = a_time("When it was told.")


FeedbackPage = page_schema(FeedbackSchema)


blueprint = KeptBlueprint("feedback", "What became of suggestions.")


@blueprint.route("/v1/advice/<id:advice_id>/feedback", methods=["POST"])
@blueprint.needs("observe", IDEMPOTENCY_KEY)
@blueprint.arguments(NewFeedbackSchema)
@blueprint.response(201, FeedbackSchema, description="The feedback.")
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
    return answer(FeedbackSchema.written(kept), 201)


@blueprint.route("/v1/matches/<id:match_id>/feedback")
@blueprint.needs("read")
@blueprint.arguments(KeptPageQuery, location="query")
@blueprint.response(200, FeedbackPage, description="One page of feedback.")
def list_feedback(query: dict[str, Any], match_id: str) -> Response:
    """List the feedback on the advice of a match.

    Oldest first.
    """
    return kept_page(query, advising.feedback_page, FeedbackSchema.written, match_id)
