"""/v1/matches: make, list, get, change, end, and the score."""

from typing import Any

from flask import Response

from tacticapi.api.auth import club_id
from tacticapi.api.conditional import check_version, names_version, tag_of, tagged, unchanged, versioned
from tacticapi.api.deployment import kept_services
from tacticapi.api.edits import edited, read_answer
from tacticapi.api.entries import made
from tacticapi.api.matches.presenter import match_body
from tacticapi.api.matches.schemas import (
    MatchChangeSchema,
    MatchesQuery,
    MatchPage,
    MatchSchema,
    MatchScoreSchema,
    NewMatchSchema,
)
from tacticapi.api.nouns import IDEMPOTENCY_KEY, IF_MATCH, IF_NONE_MATCH, LOCATED_VERSION, KeptNoun, answer
from tacticapi.api.once import once
from tacticapi.api.paging import id_cursor, kept_page
from tacticapi.club import matches, scorekeeping
from tacticapi.club.codec import encode

blueprint = KeptNoun("matches", "Matches of the club, with the score that their points make.")
_AS_KEPT = {"own": "own_facts", "opponent": "opponent_facts"}


@blueprint.route("/v1/matches", methods=["POST"])
@blueprint.needs("manage", IDEMPOTENCY_KEY)
@blueprint.arguments(NewMatchSchema)
@blueprint.response(201, MatchSchema, description="The match.", headers=LOCATED_VERSION)
@blueprint.doc(operationId="addMatch")
def add_match(posted: dict[str, Any]) -> Response:
    """Start a match of two players of the club.

    What earlier matches taught of the opponent counts from the first advice on. Whether advice may be used during
    play is for the event to say: put `coaching` and `device` into `context`.
    """
    given, repeat = _given(posted), once(encode(posted))
    ids = given.pop("own_id"), given.pop("opponent_id")
    match = matches.create(kept_services(), club_id(), *ids, **given, once=repeat)
    return versioned(made(match_body(match)), match.version)


@blueprint.route("/v1/matches")
@blueprint.needs("read")
@blueprint.arguments(MatchesQuery, location="query")
@blueprint.response(200, MatchPage, description="One page of matches.")
@blueprint.doc(operationId="listMatches")
def list_matches(query: dict[str, Any]) -> Response:
    """List the matches of the club.

    In the order in which they were made.
    """
    names = ("own_id", "opponent_id", "status")
    wanted: dict[str, Any] = {name: query.get(name) for name in names} | {"after": id_cursor(query.get("cursor"))}
    return kept_page(
        query,
        lambda most: matches.find(kept_services(), club_id(), limit=most, **wanted),
        lambda match: match.id,
        match_body,
    )


@blueprint.route("/v1/matches/<id:match_id>")
@blueprint.needs("read", IF_NONE_MATCH)
@blueprint.response(200, MatchSchema, description="The match.")
@blueprint.doc(operationId="getMatch")
def get_match(match_id: str) -> Response:
    """Get one match.

    The ETag is what a change names in If-Match; points and other entries do not change it.
    """
    return read_answer(matches.get(kept_services(), club_id(), match_id), match_body)


@blueprint.route("/v1/matches/<id:match_id>", methods=["PATCH"])
@blueprint.needs("manage", IF_MATCH)
@blueprint.arguments(MatchChangeSchema)
@blueprint.response(200, MatchSchema, description="The match as it is now.")
@blueprint.doc(operationId="changeMatch")
def change_match(posted: dict[str, Any], match_id: str) -> Response:
    """Change what is known of a match.

    Each object replaces the one before; a danger sign in it is entered as an observation too, so that the next change
    does not lose it. A format is refused in which the points entered so far cannot have been played.
    """
    at, changes = (kept_services(), club_id(), match_id), _given(posted)
    match = matches.get(*at)
    return edited(match, changes, MatchChangeSchema, lambda: matches.update(*at, match.version, **changes), match_body)


@blueprint.route("/v1/matches/<id:match_id>/end", methods=["POST"])
@blueprint.needs("manage", IF_MATCH)
@blueprint.response(200, MatchSchema, description="The match, ended.")
@blueprint.doc(operationId="endMatch")
def end_match(match_id: str) -> Response:
    """End a match.

    From now on it takes no points, tries or health items, and the health items that it held are gone for good. A
    match that has ended stays as it is.
    """
    match = matches.get(kept_services(), club_id(), match_id)
    if match.status == "open":
        expected = match.version if names_version() else None
        if expected is not None:
            check_version(expected)
        match = matches.end(kept_services(), club_id(), match_id, version=expected)
    return versioned(answer(match_body(match)), match.version)


@blueprint.route("/v1/matches/<id:match_id>/score")
@blueprint.needs("read", IF_NONE_MATCH)
@blueprint.response(200, MatchScoreSchema, description="The score.")
@blueprint.doc(operationId="getScore")
def get_score(match_id: str) -> Response:
    """Get the score that the kept points make.

    Made to be polled: with If-None-Match, 304 while nothing was entered.
    """
    revision = matches.revision(kept_services(), club_id(), match_id)
    tag = tag_of("score", revision)
    held = unchanged(tag)
    if held is not None:
        return held
    at = (kept_services(), club_id(), match_id)
    body = {"score": scorekeeping.score(*at), "moment": scorekeeping.moment_now(*at).value, "revision": revision}
    return tagged(answer(body), tag)


def _given(posted: dict[str, Any]) -> dict[str, Any]:
    """What was posted and is not null, under the names by which it is kept."""
    return {_AS_KEPT.get(name, name): value for name, value in posted.items() if value is not None}
