"""/v1/players: make, list, get, change."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from flask import Response

from tacticapi.api.auth import club_id
from tacticapi.api.conditional import versioned
from tacticapi.api.deployment import kept_services
from tacticapi.api.edits import edited, read_answer
from tacticapi.api.entries import made
from tacticapi.api.nouns import IDEMPOTENCY_KEY, IF_MATCH, IF_NONE_MATCH, LOCATED_VERSION, KeptNoun
from tacticapi.api.once import once
from tacticapi.api.paging import id_cursor, kept_page
from tacticapi.api.players.schemas import NewPlayerSchema, PlayerChangeSchema, PlayerPage, PlayerSchema, PlayersQuery
from tacticapi.club import Player, Refused, players

blueprint = KeptNoun("players", "Players of the club and opponents, by nickname or code.")


@blueprint.route("/v1/players", methods=["POST"])
@blueprint.needs("manage", IDEMPOTENCY_KEY)
@blueprint.arguments(NewPlayerSchema)
@blueprint.response(201, PlayerSchema, description="The player.", headers=LOCATED_VERSION)
@blueprint.doc(operationId="addPlayer")
def add_player(posted: dict[str, Any]) -> Response:
    """Add a player of the club or an opponent.

    By a nickname or code: no full names, no birth dates, no photographs. Facts are playing facts; health items belong
    to a match and are refused here. With an Idempotency-Key, a repeated request answers with the same player.
    """
    with _facts_told():
        player = players.create(
            kept_services(), club_id(), posted["side"], posted["label"], posted.get("facts"), once=once(posted)
        )
    return versioned(made(player_body(player)), player.version)


@blueprint.route("/v1/players")
@blueprint.needs("read")
@blueprint.arguments(PlayersQuery, location="query")
@blueprint.response(200, PlayerPage, description="One page of players.")
@blueprint.doc(operationId="listPlayers")
def list_players(query: dict[str, Any]) -> Response:
    """List the players of the club.

    In the order in which they were made.
    """
    after = id_cursor(query.get("cursor"))
    wanted = {"side": query.get("side"), "label": query.get("label"), "after": after}
    return kept_page(
        query,
        lambda most: players.find(kept_services(), club_id(), limit=most, **wanted),
        lambda player: player.id,
        player_body,
    )


@blueprint.route("/v1/players/<id:player_id>")
@blueprint.needs("read", IF_NONE_MATCH)
@blueprint.response(200, PlayerSchema, description="The player.")
@blueprint.doc(operationId="getPlayer")
def get_player(player_id: str) -> Response:
    """Get one player.

    The ETag is what a change names in If-Match.
    """
    return read_answer(players.get(kept_services(), club_id(), player_id), player_body)


@blueprint.route("/v1/players/<id:player_id>", methods=["PATCH"])
@blueprint.needs("manage", IF_MATCH)
@blueprint.arguments(PlayerChangeSchema)
@blueprint.response(200, PlayerSchema, description="The player as it is now.")
@blueprint.doc(operationId="changePlayer")
def change_player(posted: dict[str, Any], player_id: str) -> Response:
    """Change the label or the facts of a player.

    Facts replace all facts before. Open matches of the player count as changed, so their advice is worked out anew.
    """
    at, changes = (
        (kept_services(), club_id(), player_id),
        {n: value for n, value in posted.items() if value is not None},
    )
    player = players.get(*at)
    with _facts_told():
        return edited(
            player,
            changes,
            PlayerChangeSchema,
            lambda: players.update(*at, player.version, **changes),
            player_body,
        )


def player_body(player: Player) -> dict[str, Any]:
    """A player as kept."""
    return {
        "id": player.id,
        "side": player.side,
        "label": player.label,
        "facts": dict(player.facts),
        "version": player.version,
        "created_at": player.created_at.isoformat(),
        "updated_at": player.updated_at.isoformat(),
    }


@contextmanager
def _facts_told() -> Iterator[None]:
    """Tell a fault of own or opponent at the member that holds it here."""
    try:
        yield
    except Refused as refused:
        raise Refused(
            replace(fault, path=("facts", *fault.path[1:])) if fault.path[:1] in (("own",), ("opponent",)) else fault
            for fault in refused.faults
        ) from None
