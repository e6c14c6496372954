"""Routes for advice on a match: new advice, advice as given, and feedback on it."""

from typing import Any

from flask import Response, request

from tacticapi.api.advice import OF_ADVICE, AdviceSchema, Include, RulebookRefSchema, advice_body
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import IDEMPOTENCY_KEY, IF_NONE_MATCH, JSON, KeptBlueprint, answer
from tacticapi.api.http.bodies import once
from tacticapi.api.http.conditional import rules_tag_of, tagged, unchanged
from tacticapi.api.http.paging import PageQuery, PlainInteger, kept_page, page_schema
from tacticapi.api.situations import MAX_ID_LENGTH, MAX_MATCH_MINUTES, MAX_SUGGESTIONS, SituationSchema, situation_body
from tacticapi.club import advising, matches
from tacticapi.club.advising import KINDS, MAX_REASON, NOT_USED, OUTCOME, OUTCOMES, USED
from tacticapi.club.entries import page_of_match
from tacticapi.domain.situation import Moment


class OfMatchSchema(wire.Answer):
    """The match and the revision that the advice is for."""

    match_id = wire.an_id("Id of the match.")
    revision = wire.a_count("The match's revision that the advice is for.")
    health_removed = wire.a_fact("Whether health items were removed when the match ended.")


class LiveAdviceSchema(AdviceSchema, OfMatchSchema):
    """Advice on a stored match."""


class GivenAdviceSchema(LiveAdviceSchema):
    """Advice as it was given, with its input."""

    given_at = wire.a_time("When the advice was given.", of="snapshot.created_at")
    situation = wire.a_part(
        SituationSchema,
        "The situation on which it was given; absent if withheld or no longer readable.",
        absent=True,
        of=lambda given: given.situation and situation_body(given.situation),
    )
    fired = wire.texts("The rules that fired; empty if withheld. /v1/explanations shows what they matched.")


class AdviceLineSchema(OfMatchSchema):
    """A reference to advice that was given; its own address returns the full advice."""

    advice_id = wire.an_id("Id of the advice.", of="id")
    moment = wire.a_word(Moment, "The moment that the advice is for.")
    rulebook = wire.a_part(RulebookRefSchema)
    given_at = wire.a_time("When the advice was given.", of="created_at")


blueprint = KeptBlueprint("live")


@blueprint.get("/v1/matches/<id:match_id>/suggestions", scope="advise", reads=IF_NONE_MATCH, conflict=True)
@blueprint.query(
    include=Include(),
    moment=wire.a_choice(Moment, "The moment of the request, on which permissions depend.", required=True),
    limit=PlainInteger("Maximum number of suggestions. Default: as many as the moment allows.", 1, MAX_SUGGESTIONS),
    minutes_left=PlainInteger("Minutes of play left, if time is limited. Default: unlimited.", 0, MAX_MATCH_MINUTES),
)
@blueprint.response(200, LiveAdviceSchema, description="The advice.")
def suggest_now(query: dict[str, Any], match_id: str) -> Response:
    """Get advice on a match from everything stored about it.

    When polling, send If-None-Match: the response is 304 as long as nothing has changed. The advice is stored, stays
    steady between requests, and says what has changed. Safety comes before tactics. If the match's context does not
    permit coaching or a device at this moment, the response contains only safety advice and a notice. `before-match`
    and `after-match` are refused during the match.
    """
    tag = _tag(matches.revision(*here(), match_id), query)
    held = unchanged(tag)
    if held is not None:
        return held
    if request.method == "HEAD":
        return tagged(Response(mimetype=JSON), tag)  # nothing is computed or stored
    moment = Moment(query["moment"])
    limit, minutes = query.get("limit"), query.get("minutes_left")
    live = advising.live_advice(*here(), match_id, moment, limit=limit, minutes_left=minutes)
    confirmed = live.snapshot.confirmed
    of_match = OfMatchSchema.written(live.snapshot, revision=confirmed)
    body = {**advice_body(live.advice, live.id, query.get("include", ())), **of_match}
    return tagged(answer(body), _tag(confirmed, query))


@blueprint.get("/v1/matches/<id:match_id>/advice", scope="read")
@blueprint.query(PageQuery)
@blueprint.response(200, page_schema(AdviceLineSchema), description="One page of advice.")
def list_advice(query: dict[str, Any], match_id: str) -> Response:
    """List the advice given on a match.

    Advice is listed oldest first, each item with its time, moment and rulebook.
    """
    return kept_page(query, page_of_match, line_body, match_id, "snapshots")


@blueprint.get("/v1/advice/<id:advice_id>", scope="read")
@blueprint.response(200, GivenAdviceSchema, description="The advice.")
def get_advice(advice_id: str) -> Response:
    """Get advice as it was given, with its input and the rules that fired.

    During the match, it is shown only if the event permits advice between points. If not, or if a danger sign or pain
    stops play, the response contains only the current safety lines and a notice.
    """
    given = advising.given_advice(*here(), advice_id)
    advice = advice_body(given.advice, given.id)
    of_match = OfMatchSchema.written(given.snapshot)
    return answer({**advice, **of_match, **GivenAdviceSchema.written(given, without=OF_ADVICE | of_match.keys())})


def _tag(revision: int, query: dict[str, Any]) -> str:
    asked = (query["moment"], query.get("limit"), query.get("minutes_left"), *sorted(query.get("include", ())))
    return rules_tag_of("live", revision, *asked)


def line_body(snapshot: Any) -> dict[str, Any]:
    """Return given advice as JSON for a list, with its id first."""
    rules = {"version": snapshot.rulebook_version, "digest": snapshot.rulebook_digest}
    return {"advice_id": snapshot.id, **AdviceLineSchema.written(snapshot, rulebook=rules)}


_REASON = f"For {NOT_USED}: the reason. For {OUTCOME}: one of {', '.join(OUTCOMES)}. Omit if none, as for {USED}."


class NewFeedbackSchema(wire.Shape):
    """Feedback on a suggestion. Post points won with it as tries, not as feedback."""

    tactic = wire.Text(MAX_ID_LENGTH, required=True, says="Id of a tactic that the advice suggested.")
    kind = wire.Word(KINDS, required=True, says="Kind of feedback.")
    reason = wire.Text(MAX_REASON, says=_REASON)


class FeedbackSchema(wire.Answer):
    """Stored feedback."""

    id = wire.an_id("Id of the feedback.")
    advice_id = wire.an_id("Id of the advice that it is about.", of="snapshot_id")
    tactic = wire.a_text("Id of the tactic.")
    kind = wire.a_word(KINDS, "Kind of feedback.")
    reason = wire.a_text("The reason, or the outcome.", absent=True)
    created_at = wire.a_time("When the feedback was posted.")


@blueprint.post("/v1/advice/<id:advice_id>/feedback", scope="observe", reads=IDEMPOTENCY_KEY)
@blueprint.arguments(NewFeedbackSchema)
@blueprint.response(201, FeedbackSchema, description="The feedback.")
def add_feedback(posted: dict[str, Any], advice_id: str) -> Response:
    """Report what became of a suggestion.

    Report that it was used, that it was not used and why, or how it turned out. Feedback does not change advice; it is
    listed with the match.
    """
    told = {"reason": None, **posted}
    kept = advising.add_feedback(*here(), advice_id, **told, once=once(posted))
    return answer(FeedbackSchema.written(kept), 201)


@blueprint.get("/v1/matches/<id:match_id>/feedback", scope="read")
@blueprint.query(PageQuery)
@blueprint.response(200, page_schema(FeedbackSchema), description="One page of feedback.")
def list_feedback(query: dict[str, Any], match_id: str) -> Response:
    """List the feedback on a match's advice.

    Feedback is listed oldest first.
    """
    return kept_page(query, page_of_match, FeedbackSchema.written, match_id, "feedback")
