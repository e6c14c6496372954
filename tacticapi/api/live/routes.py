"""/v1/matches/{match_id}/suggestions, /v1/matches/{match_id}/advice and /v1/advice/{advice_id}."""

from typing import Any

from flask import Response

from tacticapi import __version__
from tacticapi.api.auth import club_id
from tacticapi.api.conditional import tag_of, tagged, unchanged
from tacticapi.api.deployment import deployment, kept_services
from tacticapi.api.live.presenter import given_body, line_body, live_body
from tacticapi.api.live.schemas import (
    AdviceLinePage,
    GivenAdviceSchema,
    LiveAdviceSchema,
    LiveQuery,
)
from tacticapi.api.nouns import IF_NONE_MATCH, KeptNoun, answer
from tacticapi.api.paging import KeptPageQuery, id_cursor, kept_page
from tacticapi.api.problems import INVALID_QUERY, refuse
from tacticapi.club import Refused, advising, matches
from tacticapi.domain.terms import Moment

blueprint = KeptNoun("live", "Advice on a match from everything that is kept of it.")


@blueprint.route("/v1/matches/<id:match_id>/suggestions")
@blueprint.needs("advise", IF_NONE_MATCH)
@blueprint.arguments(LiveQuery, location="query")
@blueprint.response(200, LiveAdviceSchema, description="The advice.")
@blueprint.doc(operationId="suggestNow")
def suggest_now(query: dict[str, Any], match_id: str) -> Response:
    """Advise on a match from everything that is kept of it.

    Made to be polled: with If-None-Match, 304 while nothing has changed. The advice is kept, holds steady against the
    one before, and says what has changed since. Safety stands before tactics; where the context of the match does not
    permit coaching or a device at this moment, only safety and a notice stand. `before-match` and `after-match` are
    refused while the match is played.
    """
    tag = _tag(matches.revision(kept_services(), club_id(), match_id), query)
    held = unchanged(tag)
    if held is not None:
        return held
    moment = Moment(query["moment"])
    more = {name: query.get(name) for name in ("limit", "minutes_left")}
    try:
        live = advising.live_advice(kept_services(), club_id(), match_id, moment, **more)
    except Refused as refused:
        refuse(INVALID_QUERY, faults=refused.faults)
    return tagged(answer(live_body(live)), _tag(live.revision, query))


@blueprint.route("/v1/matches/<id:match_id>/advice")
@blueprint.needs("read")
@blueprint.arguments(KeptPageQuery, location="query")
@blueprint.response(200, AdviceLinePage, description="One page of what was given.")
@blueprint.doc(operationId="listAdvice")
def list_advice(query: dict[str, Any], match_id: str) -> Response:
    """List the advice that was given on a match.

    Oldest first: when, for which moment, by which rules.
    """
    after = id_cursor(query.get("cursor"))
    return kept_page(
        query,
        lambda most: advising.advice_page(kept_services(), club_id(), match_id, after=after, limit=most),
        lambda snapshot: snapshot.id,
        line_body,
    )


@blueprint.route("/v1/advice/<id:advice_id>")
@blueprint.needs("read")
@blueprint.response(200, GivenAdviceSchema, description="The advice.")
@blueprint.doc(operationId="getAdvice")
def get_advice(advice_id: str) -> Response:
    """Get advice as it was given, with the input and the rules that fired.

    While the match is played, it is shown if the event permits advice between points. If not, or if a danger sign or
    pain stops play, the answer holds safety and a notice of now alone.
    """
    return answer(given_body(advising.given_advice(kept_services(), club_id(), advice_id)))


def _tag(revision: int, query: dict[str, Any]) -> str:
    """Stands for the match's revision, the question, the rules and the code that answers."""
    asked = (query["moment"], query.get("limit"), query.get("minutes_left"))
    return tag_of("live", revision, *asked, deployment().rulebook.digest, __version__)
