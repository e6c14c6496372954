"""Routes for a club's players and opponents: nickname or code, and playing facts; no full names, no birth dates."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from flask import Response
from marshmallow import fields
from marshmallow.validate import Length

from tacticapi.api.http import blueprint as routes
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import here
from tacticapi.api.http.bodies import once
from tacticapi.api.http.conditional import edited, keyed, merged, read_answer, shown, upserted
from tacticapi.api.http.paging import SearchText, SortedQuery, kept_page, page_schema
from tacticapi.club import Conflict, Refused, players
from tacticapi.club.players import SIDES
from tacticapi.club.services import MAX_LABEL, checked_label, external_id_taken
from tacticapi.posted import MAX_TEXT

MAX_FACTS = 200
FACTS = ("Own", "Opponent")  # components of the contract
_LABEL = "A nickname or code, unique among the club's players on this side; not a full name."
_FACTS = "Items from own or opponent, as in a situation, except health items."


def _short(value: Any) -> None:
    if isinstance(value, str):
        Length(1, MAX_TEXT, error=f"a string of 1 to {MAX_TEXT} characters")(value)


# one item from own or opponent; the vocabulary lists its values
FACT = fields.Raw(required=True, allow_none=True, validate=_short)


class NewPlayerSchema(wire.Shape):
    """A new player."""

    side = wire.Word(SIDES, required=True, says="Whether the club advises them (own) or plays against them (opponent).")
    label = wire.Text(MAX_LABEL, required=True, says=_LABEL)
    facts = wire.Table(FACT, MAX_FACTS, says=f"{_FACTS} Omit if none.", components=FACTS)
    external_id = wire.ExternalId("Omit if none.")


class PlayerChangeSchema(wire.Shape):
    """A merge patch (RFC 7396): absent members are unchanged, null removes a fact."""

    keeps_null = True

    label = wire.Text(MAX_LABEL, says=f"{_LABEL}", null=False)
    facts = wire.Table(FACT, MAX_FACTS, says=f"{_FACTS}", components=FACTS)
    external_id = wire.ExternalId()


class PlayerSchema(wire.Answer):
    """A stored player."""

    id = wire.an_id("Id of the player.")
    side = wire.a_word(SIDES, "Whether the club advises them (own) or plays against them (opponent).")
    label = wire.a_text("A nickname or code.")
    facts = wire.an_object("Playing facts: items from own or opponent.", like=FACTS)
    version = wire.a_count("Number of changes; also the ETag.")
    created_at = wire.a_time("When the player was created.")
    updated_at = wire.a_time("When the player was last changed.")
    external_id = wire.a_text("The club's own id.", absent=True)


blueprint = routes.KeptBlueprint("players")


@blueprint.post("/v1/players", scope="manage", reads=routes.IDEMPOTENCY_KEY, conflict=True)
@blueprint.arguments(NewPlayerSchema)
@blueprint.response(201, PlayerSchema, description="The player.", headers=routes.LOCATED_VERSION)
def add_player(posted: dict[str, Any]) -> Response:
    """Add one of the club's players, or an opponent.

    Use a nickname or code: no full names, no birth dates, no photographs. Facts are playing facts; post health items
    with a match instead. With an Idempotency-Key, a repeated request returns the same player.
    """
    with _facts_told():
        player = players.create(
            *here(), posted["side"], posted["label"], posted.get("facts"),
            external_id=posted.get("external_id"), once=once(posted),
        )  # fmt: skip
    return shown(player, PlayerSchema.written, new=True)


@blueprint.put("/v1/by-external-id/players/<external_id>", scope="manage", reads=routes.ANY_VERSION, conflict=True)
@blueprint.arguments(NewPlayerSchema)
@blueprint.response(200, PlayerSchema, description="The player, unchanged or updated.")
@blueprint.response(201, PlayerSchema, description="The new player.", headers=routes.LOCATED_VERSION)
def put_player(posted: dict[str, Any], external_id: str) -> Response:
    """Create or update the player with this id in the club's own system.

    A new player is created from the body. On a stored player, label and facts are applied as a merge patch; the side
    cannot change. Repeating the request changes nothing.
    """
    given = keyed(posted, external_id)

    def create() -> Any:
        return players.create(*here(), given["side"], given["label"], given.get("facts"), external_id=external_id)

    def wanted(player: Any) -> dict[str, Any]:
        if player.side != given["side"]:
            raise external_id_taken("side", value=given["side"])
        return {"label": checked_label(given["label"]), "facts": merged(player.facts, given.get("facts", {}))}

    with _facts_told():
        return upserted(players, external_id, create, wanted, PlayerSchema.written)


@blueprint.get("/v1/players", scope="read")
@blueprint.query(
    SortedQuery,
    side=wire.a_choice(SIDES, "Only players on this side. Default: both."),
    label=SearchText("Only the player with exactly this label."),
    external_id=SearchText("Only the player with this external id."),
)
@blueprint.response(200, page_schema(PlayerSchema), description="One page of players.")
def list_players(query: dict[str, Any]) -> Response:
    """List the club's players and opponents.

    Players are listed in order of creation, unless `sort` says otherwise.
    """
    return kept_page(query, players.find, PlayerSchema.written)


@blueprint.get("/v1/players/<id:player_id>", scope="read", reads=routes.IF_NONE_MATCH)
@blueprint.response(200, PlayerSchema, description="The player.")
def get_player(player_id: str) -> Response:
    """Get one player.

    To change the player, send its ETag in If-Match.
    """
    return read_answer(players.get(*here(), player_id), PlayerSchema.written)


@blueprint.patch("/v1/players/<id:player_id>", scope="manage", reads=routes.IF_MATCH, conflict=True)
@blueprint.arguments(PlayerChangeSchema)
@blueprint.response(200, PlayerSchema, description="The updated player.")
def change_player(posted: dict[str, Any], player_id: str) -> Response:
    """Update a player's label or facts.

    The body is a merge patch (RFC 7396): absent members are unchanged, and null removes a fact. The player's open
    matches count as changed, so their advice is recomputed.
    """
    at = (*here(), player_id)
    player = players.get(*at)
    changes = {**posted, **({"facts": merged(player.facts, posted["facts"]) or {}} if "facts" in posted else {})}
    with _facts_told():
        return edited(
            player,
            changes,
            PlayerChangeSchema,
            lambda: players.update(*at, player.version, **changes),
            PlayerSchema.written,
        )


@contextmanager
def _facts_told() -> Iterator[None]:
    try:
        yield
    except Conflict:
        raise
    except Refused as refused:
        raise Refused(
            replace(fault, path=("facts", *fault.path[1:])) if fault.path[:1] in (("own",), ("opponent",)) else fault
            for fault in refused.faults
        ) from None
