"""Advice on a match from everything that is kept of it, now and as it was given; what became of it."""

from typing import Any

from flask import Response, request

from tacticapi import __version__
from tacticapi.api.advice import OF_ADVICE, AdviceSchema, Include, RulebookRefSchema, advice_body
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import IDEMPOTENCY_KEY, IF_NONE_MATCH, JSON, KeptBlueprint, answer
from tacticapi.api.http.bodies import once
from tacticapi.api.http.conditional import tag_of, tagged, unchanged
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.paging import PageQuery, PlainInteger, kept_page, page_schema
from tacticapi.api.situations import MAX_ID_LENGTH, MAX_MATCH_MINUTES, MAX_SUGGESTIONS, SituationSchema, situation_body
from tacticapi.club import advising, matches
from tacticapi.club.advising import KINDS, MAX_REASON, NOT_USED, OUTCOME, OUTCOMES, USED
from tacticapi.domain.situation import Moment


class OfMatchSchema(wire.Answer):
    """Which match and state of it an advice is for."""

    match_id = wire.an_id("Id of the match.")
    revision = wire.a_count("The match's revision that it was given for.")
    health_removed = wire.a_fact("Whether health items were taken out when the match ended.")


class LiveAdviceSchema(AdviceSchema, OfMatchSchema):
    """Advice on a kept match."""


class GivenAdviceSchema(LiveAdviceSchema):
    """Advice as it was given, with all that it rested on."""

    given_at = wire.a_time("When it was given.", of="snapshot.created_at")
    situation = wire.a_part(
        SituationSchema,
        "What it was given on; absent if withheld or no longer readable.",
        absent=True,
        of=lambda given: given.situation and situation_body(given.situation),
    )
    fired = wire.texts("The rules that fired; empty if withheld. For what they matched, post the situation to explain.")


class AdviceLineSchema(OfMatchSchema):
    """That advice was given; its own address has its text."""

    advice_id = wire.an_id("Id of the advice.", of="id")
    moment = wire.a_word(Moment, "The moment asked about.")
    rulebook = wire.a_part(RulebookRefSchema)
    given_at = wire.a_time("When it was given.", of="created_at")


blueprint = KeptBlueprint("live")


@blueprint.route("/v1/matches/<id:match_id>/suggestions")
@blueprint.needs("advise", IF_NONE_MATCH, conflict=True)
@blueprint.query(
    include=Include(),
    moment=wire.a_choice(Moment, "When advice is asked for; permissions depend on it.", required=True),
    limit=PlainInteger("Most suggestions wanted. Default: as many as the moment allows.", 1, MAX_SUGGESTIONS),
    minutes_left=PlainInteger("Minutes of play left, if time is limited. Default: not limited.", 0, MAX_MATCH_MINUTES),
)
@blueprint.response(200, LiveAdviceSchema, description="The advice.")
def suggest_now(query: dict[str, Any], match_id: str) -> Response:
    """Advise on a match from everything that is kept of it.

    Made to be polled: with If-None-Match, 304 while nothing has changed. The advice is kept, holds steady against the
    one before, and says what has changed since. Safety comes before tactics; if the context of the match does not
    permit coaching or a device at this moment, it holds only safety and a notice. `before-match` and `after-match` are
    refused while the match is played.
    """
    tag = _tag(matches.revision(*here(), match_id), query)
    held = unchanged(tag)
    if held is not None:
        return held
    if request.method == "HEAD":
        return tagged(Response(mimetype=JSON), tag)  # nothing is worked out, and nothing is kept
    moment = Moment(query["moment"])
    limit, minutes = query.get("limit"), query.get("minutes_left")
    live = advising.live_advice(*here(), match_id, moment, limit=limit, minutes_left=minutes)
    body = {**advice_body(live.advice, live.id, query.get("include", ())), **OfMatchSchema.written(live)}
    return tagged(answer(body), _tag(live.revision, query))


@blueprint.route("/v1/matches/<id:match_id>/advice")
@blueprint.needs("read")
@blueprint.query(PageQuery)
@blueprint.response(200, page_schema(AdviceLineSchema), description="One page of what was given.")
def list_advice(query: dict[str, Any], match_id: str) -> Response:
    """List the advice that was given on a match.

    Oldest first: when, for which moment, by which rules.
    """
    return kept_page(query, advising.advice_page, line_body, match_id)


@blueprint.route("/v1/advice/<id:advice_id>")
@blueprint.needs("read")
@blueprint.response(200, GivenAdviceSchema, description="The advice.")
def get_advice(advice_id: str) -> Response:
    """Get advice as it was given, with the input and the rules that fired.

    While the match is played, it is shown if the event permits advice between points. If not, or if a danger sign or
    pain stops play, the answer holds safety and a notice of now alone.
    """
    given = advising.given_advice(*here(), advice_id)
    advice = advice_body(given.advice, given.snapshot.id)
    of_match = OfMatchSchema.written(given.snapshot)
    return answer({**advice, **of_match, **GivenAdviceSchema.written(given, without=OF_ADVICE | of_match.keys())})


def _tag(revision: int, query: dict[str, Any]) -> str:
    """Stands for the match's revision, the question, the rules and the code that answers."""
    asked = (query["moment"], query.get("limit"), query.get("minutes_left"), *sorted(query.get("include", ())))
    return tag_of("live", revision, *asked, deployment().rulebook.digest, __version__)


def line_body(snapshot: Any) -> dict[str, Any]:
    """Return the JSON of a line about advice that was given, its own id first."""
    rules = {"version": snapshot.rulebook_version, "digest": snapshot.rulebook_digest}
    return {"advice_id": snapshot.id, **AdviceLineSchema.written(snapshot, rulebook=rules)}


_REASON = f"For {NOT_USED}: why. For {OUTCOME}: one of {', '.join(OUTCOMES)}. Absent if none, as for {USED}."


class NewFeedbackSchema(wire.Shape):
    """What became of a suggestion. Points won by it are tries, not feedback."""

    tactic = wire.Text(MAX_ID_LENGTH, required=True, says="Id of a tactic that the advice suggested.")
    kind = wire.Word(KINDS, required=True, says="Kind of feedback.")
    reason = wire.Text(MAX_REASON, says=_REASON)


class FeedbackSchema(wire.Answer):
    """Feedback as kept."""

    id = wire.an_id("Id of the line.")
    advice_id = wire.an_id("The advice that it is on.", of="snapshot_id")
    tactic = wire.a_text("Id of the tactic.")
    kind = wire.a_word(KINDS, "Kind of feedback.")
    reason = wire.a_text("The reason, or the outcome.", absent=True)
    created_at = wire.a_time("When it was posted.")


@blueprint.route("/v1/advice/<id:advice_id>/feedback", methods=["POST"])
@blueprint.needs("observe", IDEMPOTENCY_KEY)
@blueprint.arguments(NewFeedbackSchema)
@blueprint.response(201, FeedbackSchema, description="The feedback.")
def add_feedback(posted: dict[str, Any], advice_id: str) -> Response:
    """Report what became of a suggestion.

    That it was used, that it was not and why, or how it turned out. It changes no advice; the match
    lists it.
    """
    told = {"reason": None, **posted}
    kept = advising.add_feedback(*here(), advice_id, **told, once=once(posted))
    return answer(FeedbackSchema.written(kept), 201)


@blueprint.route("/v1/matches/<id:match_id>/feedback")
@blueprint.needs("read")
@blueprint.query(PageQuery)
@blueprint.response(200, page_schema(FeedbackSchema), description="One page of feedback.")
def list_feedback(query: dict[str, Any], match_id: str) -> Response:
    """List the feedback on the advice of a match.

    Oldest first.
    """
    return kept_page(query, advising.feedback_page, FeedbackSchema.written, match_id)
