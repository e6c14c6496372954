"""Manage the club's own players and their opponents, each under a nickname or code."""

from collections.abc import Mapping
from typing import Any

from tacticapi.club.clubs import known_club
from tacticapi.club.health import checked_facts
from tacticapi.club.services import (
    Once,
    Services,
    VersionConflict,
    checked_external_id,
    checked_label,
    conflict,
    done_once,
    external_id_taken,
    found,
)
from tacticapi.store import ConstraintViolation, Player, UnitOfWork

SIDES = ("own", "opponent")
MAX_FORMER_LABELS = 20  # newest former labels kept per player


def create(
    services: Services,
    club_id: str,
    side: str,
    label: str,
    facts: Mapping[str, Any] | None = None,
    *,
    external_id: str | None = None,
    once: Once = None,
) -> Player:
    """Create a player and return it, or the player that the same request created before. Health items are refused.

    Raises NotFound, Refused, IdempotencyConflict; Conflict for a label or external id that is taken.
    """
    label, kept = checked_label(label), checked_facts(side, facts or {}, services.rulebook, health=False)
    own_id = checked_external_id(external_id)
    now = services.now()

    def add() -> Mapping[str, Any]:
        new, age_band = work.players.new_id(), kept.get("age_band")
        work.players.add(Player(club_id, new, side, label, kept, age_band, 1, now, now, external_id=own_id))
        return {"id": new}

    try:
        with services.work(club_id) as work:
            known_club(work)
            return known_player(work, done_once(work, once, now, add)["id"])
    except ConstraintViolation:
        raise _taken(services, club_id, None, label, own_id) from None


def get(services: Services, club_id: str, player_id: str) -> Player:
    """Return the player. Raises NotFound."""
    with services.reading(club_id) as work:
        return known_player(work, player_id)


def find(services: Services, club_id: str, *, limit: int = 100, **wanted: Any) -> list[Player]:
    """Return at most `limit` players by `side`, `label` and `external_id`, paged as in `sorted_page`."""
    with services.reading(club_id) as work:
        return work.players.sorted_page(limit=limit, **{name: value for name, value in wanted.items() if value})


def update(services: Services, club_id: str, player_id: str, version: int, **given: Any) -> Player:
    """Change label, facts or external_id in this version of the player; `facts` are replaced as a whole.

    Raises NotFound, VersionConflict, Refused; Conflict as in `create`.
    """
    changes: dict[str, Any] = {"updated_at": services.now()}
    try:
        with services.work(club_id) as work:
            player = known_player(work, player_id)
            if given.get("label") is not None and checked_label(given["label"]) != player.label:
                changes["label"] = checked_label(given["label"])
                changes["former_labels"] = [*player.former_labels, player.label][-MAX_FORMER_LABELS:]
            if given.get("facts") is not None:
                changes["facts"] = checked_facts(player.side, given["facts"], services.rulebook, health=False)
                changes["age_band"] = changes["facts"].get("age_band")
            if "external_id" in given:
                changes["external_id"] = checked_external_id(given["external_id"])
            if not work.players.update_version(player_id, version, changes):
                raise VersionConflict("player", known_player(work, player_id).version)
            work.matches.touch([match.id for match in work.matches.of_player(player_id)])
            return known_player(work, player_id)
    except ConstraintViolation:
        raise _taken(services, club_id, player_id, changes.get("label"), changes.get("external_id")) from None


def known_player(work: UnitOfWork, player_id: str) -> Player:
    """Return the player of this club. Raises NotFound."""
    return found(work.players.get(player_id), "player", player_id)


def _taken(
    services: Services, club_id: str, player_id: str | None, label: str | None, external_id: str | None
) -> Exception:
    """Return the conflict, if any, between a new or changed player and another player's label or external id."""
    with services.reading(club_id) as work:
        holders = work.players.find(external_id=external_id) if external_id else []
    if any(one.id != player_id for one in holders):
        return external_id_taken("external_id", value=external_id)
    return conflict("label-taken", "a label that no other player on this side has", "label", value=label)
