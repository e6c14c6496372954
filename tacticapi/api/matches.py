"""Routes for a club's matches: players, conditions, score and end."""

from collections.abc import Callable, Mapping
from typing import Any

from flask import Response

from tacticapi.api.http import blueprint as routes
from tacticapi.api.http import conditional
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import here
from tacticapi.api.http.bodies import once
from tacticapi.api.http.paging import SearchText, SortedQuery, kept_page, page_schema
from tacticapi.api.situations import Profile, ScoreSchema
from tacticapi.club import matches, scorekeeping
from tacticapi.club.codec import encode
from tacticapi.club.services import external_id_taken
from tacticapi.domain.situation import Moment
from tacticapi.scoring.formats import SIDES

STATUSES = ("open", "ended")
FACTS = "Facts for this match, which override the player's."


class MatchChangeSchema(wire.RulebookShape):
    """A merge patch (RFC 7396): absent members are unchanged, null removes a value."""

    keeps_null = True

    context = Profile("context", "The day, the court, the event and the format.", dict)
    own = Profile("own", FACTS, dict)
    opponent = Profile("opponent", FACTS, dict)
    first_server = wire.Word(SIDES, says="Who serves the first point.")
    started_at = wire.Time(says="When the match starts.", null=False)
    external_id = wire.ExternalId()


class NewMatchSchema(wire.RulebookShape):
    """A new match. Facts may contain health items, which are deleted when the match ends."""

    keeps_null = True  # PUT also applies it to a stored match, as a merge patch

    context = Profile("context", "The day, the court, the event and the format. Omit if unknown.", wire.told)
    own = Profile("own", f"{FACTS} Omit if none.", wire.told)
    opponent = Profile("opponent", f"{FACTS} Omit if none.", wire.told)
    first_server = wire.Word(SIDES, says="Who serves the first point. Omit if unknown.")
    started_at = wire.Time(says="When the match starts. Default: now.")
    own_id = wire.Id("Id of your player.", required=True)
    opponent_id = wire.Id("Id of the opponent.", required=True)
    external_id = wire.ExternalId("Omit if none.")


class MatchSchema(wire.Answer):
    """A stored match."""

    id = wire.an_id("Id of the match.")
    own_id = wire.an_id("Id of your player; absent if erased.", absent=True)
    opponent_id = wire.an_id("Id of the opponent; absent if erased.", absent=True)
    context = wire.an_object("The context, as posted.", like=("Context",))
    own = wire.an_object("Your player's facts, as posted.", of="own_facts", like=("Own",))
    opponent = wire.an_object("The opponent's facts, as posted.", of="opponent_facts", like=("Opponent",))
    first_server = wire.a_word(SIDES, "Who served the first point; absent if unknown.", absent=True)
    status = wire.a_word(STATUSES, "Whether the match is open or ended.")
    started_at = wire.a_time("When the match started.")
    ended_at = wire.a_time("When the match ended.", absent=True)
    version = wire.a_count("Number of changes to the match itself; also the ETag.")
    created_at = wire.a_time("When the match was created.")
    updated_at = wire.a_time("When the match or one of its entries last changed.")
    external_id = wire.a_text("The club's own id.", absent=True)


class MatchScoreSchema(wire.Shape):
    """The score from the stored points."""

    score = wire.a_part(ScoreSchema, "The score; null before the first entry.", absent=True)
    moment = wire.a_word(Moment, "The current moment according to the points; request advice with it.")
    revision = wire.a_count("Number of changes that can affect advice, entries included.")


blueprint = routes.KeptBlueprint("matches")
UNCHANGED = ("own_id", "opponent_id", "external_id")  # once a match exists
_AS_KEPT = {"own": "own_facts", "opponent": "opponent_facts"}


@blueprint.post("/v1/matches", scope="manage", reads=routes.IDEMPOTENCY_KEY, conflict=True)
@blueprint.arguments(NewMatchSchema)
@blueprint.response(201, MatchSchema, description="The match.", headers=routes.LOCATED_VERSION)
def add_match(posted: dict[str, Any]) -> Response:
    """Start a match between two of the club's players.

    Earlier matches against the opponent count from the first advice on. Whether advice may be used during play depends
    on the event's rules: post them as `coaching` and `device` in `context`.
    """
    given, repeat = _given(posted), once(encode(posted))
    ids = given.pop("own_id"), given.pop("opponent_id")
    match = matches.create(*here(), *ids, **given, once=repeat)
    return conditional.shown(match, MatchSchema.written, new=True)


@blueprint.put("/v1/by-external-id/matches/<external_id>", scope="manage", reads=routes.ANY_VERSION, conflict=True)
@blueprint.arguments(NewMatchSchema)
@blueprint.response(200, MatchSchema, description="The match, unchanged or updated.")
@blueprint.response(201, MatchSchema, description="The new match.", headers=routes.LOCATED_VERSION)
def put_match(posted: dict[str, Any], external_id: str) -> Response:
    """Create or update the match with this id in the club's own system.

    A new match is created from the body. On a stored match, the body is applied as a merge patch; its players cannot
    change. Repeating the request changes nothing.
    """
    given = conditional.keyed(posted, external_id)

    def create() -> Any:
        new = _given(given)
        return matches.create(*here(), new.pop("own_id"), new.pop("opponent_id"), **new)

    def wanted(match: Any) -> dict[str, Any]:
        for name in ("own_id", "opponent_id"):
            if getattr(match, name) != given[name]:
                raise external_id_taken(name, value=given[name])
        return _patched(match, {name: value for name, value in given.items() if name not in UNCHANGED})

    return conditional.upserted(matches, external_id, create, wanted, MatchSchema.written)


@blueprint.get("/v1/matches", scope="read")
@blueprint.query(
    SortedQuery,
    own_id=wire.Id("Only matches with this player on your side. Default: all.", null=False),
    opponent_id=wire.Id("Only matches against this opponent. Default: all.", null=False),
    status=wire.a_choice(STATUSES, "Only matches with this status. Default: both."),
    external_id=SearchText("Only the match with this external id."),
)
@blueprint.response(200, page_schema(MatchSchema), description="One page of matches.")
def list_matches(query: dict[str, Any]) -> Response:
    """List the club's matches.

    Matches are listed in order of creation, unless `sort` says otherwise.
    """
    return kept_page(query, matches.find, MatchSchema.written)


@blueprint.get("/v1/matches/<id:match_id>", scope="read", reads=routes.IF_NONE_MATCH)
@blueprint.response(200, MatchSchema, description="The match.")
def get_match(match_id: str) -> Response:
    """Get one match.

    To change the match, send its ETag in If-Match; points and other entries do not change the ETag.
    """
    return conditional.read_answer(matches.get(*here(), match_id), MatchSchema.written)


@blueprint.patch("/v1/matches/<id:match_id>", scope="manage", reads=routes.IF_MATCH, conflict=True)
@blueprint.arguments(MatchChangeSchema)
@blueprint.response(200, MatchSchema, description="The updated match.")
def change_match(posted: dict[str, Any], match_id: str) -> Response:
    """Update a match.

    The body is a merge patch (RFC 7396): absent members are unchanged, and null removes a value. A danger sign is also
    stored as an observation, so that later changes cannot lose it. A format that the points so far rule out is refused.
    """
    at = (*here(), match_id)
    match = matches.get(*at)
    changes = _patched(match, posted)
    return conditional.edited(
        match, changes, MatchChangeSchema, lambda: matches.update(*at, match.version, **changes), MatchSchema.written
    )


@blueprint.post("/v1/matches/<id:match_id>/end", scope="manage", reads=routes.ANY_VERSION)
@blueprint.response(200, MatchSchema, description="The match, now ended.")
def end_match(match_id: str) -> Response:
    """End a match.

    The match then accepts no more points, tries or health items, and its health items are deleted for good. Ending it
    again changes nothing.
    """
    return _moved(match_id, "open", matches.end)


@blueprint.post("/v1/matches/<id:match_id>/reopen", scope="manage", reads=routes.ANY_VERSION, conflict=True)
@blueprint.response(200, MatchSchema, description="The reopened match.")
def reopen_match(match_id: str) -> Response:
    """Reopen a finished match.

    The match accepts entries again, and its retention period restarts when it ends again. Refused if health items were
    deleted when the match ended, because a safety stop would be lost. Reopening an open match changes nothing.
    """
    return _moved(match_id, "ended", matches.reopen)


def _moved(match_id: str, status: str, move: Callable[..., Any]) -> Response:
    match = matches.get(*here(), match_id)
    if match.status == status:
        match = move(*here(), match_id, version=conditional.named_version(match.version))
    return conditional.shown(match, MatchSchema.written)


@blueprint.delete("/v1/matches/<id:match_id>", scope="manage", reads=routes.ANY_VERSION)
@blueprint.response(204, description="The match is deleted.")
def delete_match(match_id: str) -> Response:
    """Delete a match.

    The match is deleted for good, with its entries and advice.
    """
    at = (*here(), match_id)
    matches.delete(*at, version=conditional.named_version(matches.get(*at).version))
    return Response(status=204)


@blueprint.get("/v1/matches/<id:match_id>/score", scope="read", reads=routes.IF_NONE_MATCH)
@blueprint.response(200, MatchScoreSchema, description="The score.")
def get_score(match_id: str) -> Response:
    """Get the score from the stored points.

    When polling, send If-None-Match: the response is 304 as long as nothing has changed.
    """
    at = (*here(), match_id)
    revision = matches.revision(*at)

    def score() -> Response:
        found, moment = scorekeeping.score(*at)
        return routes.answer({"score": found, "moment": moment.value, "revision": revision})

    return conditional.polled(conditional.tag_of("score", revision), score)


def _patched(match: Any, posted: Mapping[str, Any]) -> dict[str, Any]:
    names = {name: _AS_KEPT.get(name, name) for name in posted}
    objects = {"context", "own_facts", "opponent_facts"}
    return {
        kept: (conditional.merged(getattr(match, kept), posted[name]) or {}) if kept in objects else posted[name]
        for name, kept in names.items()
        if posted[name] is not None or name != "started_at"
    }


def _given(posted: dict[str, Any]) -> dict[str, Any]:
    return {_AS_KEPT.get(name, name): value for name, value in posted.items() if value is not None}
