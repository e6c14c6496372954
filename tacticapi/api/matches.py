"""Matches of the club: who plays whom, where and under which rules, the score, the end."""

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
FACTS = "Facts for this match, which override those of the player."


class MatchChangeSchema(wire.RulebookShape):
    """A merge patch (RFC 7396): what is absent stays, null takes away."""

    keeps_null = True

    context = Profile("context", "The day, the court, the event and the format.", dict)
    own = Profile("own", FACTS, dict)
    opponent = Profile("opponent", FACTS, dict)
    first_server = wire.Word(SIDES, says="Who serves the first point.")
    started_at = wire.Time(says="When it starts.", null=False)
    external_id = wire.ExternalId()


class NewMatchSchema(wire.RulebookShape):
    """A new match. Facts may hold health items; they go when the match ends."""

    keeps_null = True  # PUT changes a match by it, as a merge patch does

    context = Profile("context", "The day, the court, the event and the format. Absent if unknown.", wire.told)
    own = Profile("own", f"{FACTS} Absent if none.", wire.told)
    opponent = Profile("opponent", f"{FACTS} Absent if none.", wire.told)
    first_server = wire.Word(SIDES, says="Who serves the first point. Absent if unknown.")
    started_at = wire.Time(says="When it starts. Default: now.")
    own_id = wire.Id("Id of the own player.", required=True)
    opponent_id = wire.Id("Id of the opponent.", required=True)
    external_id = wire.ExternalId("Absent if none.")


class MatchSchema(wire.Answer):
    """A match as kept."""

    id = wire.an_id("Id of the match.")
    own_id = wire.an_id("The own player; absent if erased.", absent=True)
    opponent_id = wire.an_id("The opponent; absent if erased.", absent=True)
    context = wire.an_object("As posted.", like=("Context",))
    own = wire.an_object("As posted.", of="own_facts", like=("Own",))
    opponent = wire.an_object("As posted.", of="opponent_facts", like=("Opponent",))
    first_server = wire.a_word(SIDES, "Who served the first point; absent if unknown.", absent=True)
    status = wire.a_word(STATUSES, "Whether it is open or ended.")
    started_at = wire.a_time("When it started.")
    ended_at = wire.a_time("When it ended.", absent=True)
    version = wire.a_count("Counts its own changes; also the ETag.")
    created_at = wire.a_time("When it was made.")
    updated_at = wire.a_time("When it last changed, its entries included.")
    external_id = wire.a_text("The club's own id.", absent=True)


class MatchScoreSchema(wire.Shape):
    """The score that the kept points make."""

    score = wire.a_part(ScoreSchema, "Null if nothing was entered yet.", absent=True)
    moment = wire.a_word(Moment, "The current moment by these points, for which you may ask for advice.")
    revision = wire.a_count("Counts everything that can change advice, entries included.")


blueprint = routes.KeptBlueprint("matches")
UNCHANGED = ("own_id", "opponent_id", "external_id")  # of a match that is there
_AS_KEPT = {"own": "own_facts", "opponent": "opponent_facts"}


@blueprint.route("/v1/matches", methods=["POST"])
@blueprint.needs("manage", routes.IDEMPOTENCY_KEY, conflict=True)
@blueprint.arguments(NewMatchSchema)
@blueprint.response(201, MatchSchema, description="The match.", headers=routes.LOCATED_VERSION)
def add_match(posted: dict[str, Any]) -> Response:
    """Start a match of two players of the club.

    What earlier matches taught of the opponent counts from the first advice on. Whether advice may be used during
    play is for the event to say: put `coaching` and `device` into `context`.
    """
    given, repeat = _given(posted), once(encode(posted))
    ids = given.pop("own_id"), given.pop("opponent_id")
    match = matches.create(*here(), *ids, **given, once=repeat)
    return conditional.shown(match, MatchSchema.written, new=True)


@blueprint.route("/v1/by-external-id/matches/<external_id>", methods=["PUT"])
@blueprint.needs("manage", routes.ANY_VERSION, conflict=True)
@blueprint.arguments(NewMatchSchema)
@blueprint.response(200, MatchSchema, description="The match, as it was or changed.")
@blueprint.response(201, MatchSchema, description="The match, new.", headers=routes.LOCATED_VERSION)
def put_match(posted: dict[str, Any], external_id: str) -> Response:
    """Make or change the match that has this id in the club's own system.

    A new match is made of the body. Of one that is there, the body changes what it names, as a merge patch does; its
    players stay. Sent again, it changes nothing.
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


@blueprint.route("/v1/matches")
@blueprint.needs("read")
@blueprint.query(
    SortedQuery,
    own_id=wire.Id("Only matches of this own player. Default: all.", null=False),
    opponent_id=wire.Id("Only matches against this opponent. Default: all.", null=False),
    status=wire.a_choice(STATUSES, "Default: both."),
    external_id=SearchText("Only the match of this external id."),
)
@blueprint.response(200, page_schema(MatchSchema), description="One page of matches.")
def list_matches(query: dict[str, Any]) -> Response:
    """List the matches of the club.

    In the order in which they were made, unless `sort` says otherwise.
    """
    return kept_page(query, matches.find, MatchSchema.written)


@blueprint.route("/v1/matches/<id:match_id>")
@blueprint.needs("read", routes.IF_NONE_MATCH)
@blueprint.response(200, MatchSchema, description="The match.")
def get_match(match_id: str) -> Response:
    """Get one match.

    The ETag is what a change names in If-Match; points and other entries do not change it.
    """
    return conditional.read_answer(matches.get(*here(), match_id), MatchSchema.written)


@blueprint.route("/v1/matches/<id:match_id>", methods=["PATCH"])
@blueprint.needs("manage", routes.IF_MATCH, conflict=True)
@blueprint.arguments(MatchChangeSchema)
@blueprint.response(200, MatchSchema, description="The match as it is now.")
def change_match(posted: dict[str, Any], match_id: str) -> Response:
    """Change what is known of a match.

    A merge patch (RFC 7396): what is absent stays, and null takes it away. A danger sign is entered as an observation
    too, so that no change loses it. A format is refused in which the points entered so far cannot have been played.
    """
    at = (*here(), match_id)
    match = matches.get(*at)
    changes = _patched(match, posted)
    return conditional.edited(
        match, changes, MatchChangeSchema, lambda: matches.update(*at, match.version, **changes), MatchSchema.written
    )


@blueprint.route("/v1/matches/<id:match_id>/end", methods=["POST"])
@blueprint.needs("manage", routes.ANY_VERSION)
@blueprint.response(200, MatchSchema, description="The match, ended.")
def end_match(match_id: str) -> Response:
    """End a match.

    From now on it takes no points, tries or health items, and the health items that it held are gone for good. A
    match that has ended stays as it is.
    """
    return _moved(match_id, "open", matches.end)


@blueprint.route("/v1/matches/<id:match_id>/reopen", methods=["POST"])
@blueprint.needs("manage", routes.ANY_VERSION, conflict=True)
@blueprint.response(200, MatchSchema, description="The match, which goes on.")
def reopen_match(match_id: str) -> Response:
    """Let an ended match go on.

    It takes entries again, and its days of retention begin with its next end. Refused if anything of health went with
    its end, since a stop for safety would be lost. A match that goes on stays as it is.
    """
    return _moved(match_id, "ended", matches.reopen)


def _moved(match_id: str, status: str, move: Callable[..., Any]) -> Response:
    """Answer with a match after it was ended or reopened, once."""
    match = matches.get(*here(), match_id)
    if match.status == status:
        match = move(*here(), match_id, version=conditional.named_version(match.version))
    return conditional.shown(match, MatchSchema.written)


@blueprint.route("/v1/matches/<id:match_id>", methods=["DELETE"])
@blueprint.needs("manage", routes.ANY_VERSION)
@blueprint.response(204, description="It is gone.")
def delete_match(match_id: str) -> Response:
    """Delete a match.

    For good, with its entries and the advice on it.
    """
    at = (*here(), match_id)
    matches.delete(*at, version=conditional.named_version(matches.get(*at).version))
    return Response(status=204)


@blueprint.route("/v1/matches/<id:match_id>/score")
@blueprint.needs("read", routes.IF_NONE_MATCH)
@blueprint.response(200, MatchScoreSchema, description="The score.")
def get_score(match_id: str) -> Response:
    """Get the score that the kept points make.

    Made to be polled: with If-None-Match, 304 while nothing was entered.
    """
    at = (*here(), match_id)
    revision = matches.revision(*at)

    def score() -> Response:
        found, moment = scorekeeping.score(*at)
        return routes.answer({"score": found, "moment": moment.value, "revision": revision})

    return conditional.polled(conditional.tag_of("score", revision), score)


def _patched(match: Any, posted: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a merge patch of a match makes of what it names."""
    names = {name: _AS_KEPT.get(name, name) for name in posted}
    objects = {"context", "own_facts", "opponent_facts"}
    return {
        kept: (conditional.merged(getattr(match, kept), posted[name]) or {}) if kept in objects else posted[name]
        for name, kept in names.items()
        if posted[name] is not None or name != "started_at"
    }


def _given(posted: dict[str, Any]) -> dict[str, Any]:
    return {_AS_KEPT.get(name, name): value for name, value in posted.items() if value is not None}
