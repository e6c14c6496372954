"""Players of the club and opponents, by nickname or code."""

from collections.abc import Mapping
from typing import Any

from tacticapi.club.clubs import known_club
from tacticapi.club.health import checked_facts
from tacticapi.club.services import (
    IdempotentRequest,
    Services,
    VersionConflict,
    checked_label,
    conflict,
    done_once,
    found,
)
from tacticapi.store import ConstraintViolation, Player, UnitOfWork

SIDES = ("own", "opponent")
MAX_FORMER_LABELS = 20  # of a player, the newest


def create(
    services: Services,
    club_id: str,
    side: str,
    label: str,
    facts: Mapping[str, Any] | None = None,
    *,
    once: IdempotentRequest | None = None,
) -> Player:
    """Return a new player, or the one that the same request made before; health items are refused.

    Raises NotFound, Refused (also for a label that is taken on this side), IdempotencyConflict.
    """
    label, kept = checked_label(label), checked_facts(side, facts or {}, services.rulebook, health=False)
    now = services.now()

    def add() -> Mapping[str, Any]:
        player = Player(club_id, work.players.new_id(), side, label, kept, kept.get("age_band"), 1, now, now)
        work.players.add(player)
        return {"id": player.id}

    with services.work(club_id) as work:
        known_club(work)
        try:
            made = known_player(work, done_once(work, once, now, add)["id"])
        except ConstraintViolation:
            raise _taken(label) from None
        work.commit()
    return made


def get(services: Services, club_id: str, player_id: str) -> Player:
    """Return the player. Raises NotFound."""
    with services.reading(club_id) as work:
        return known_player(work, player_id)


def find(
    services: Services, club_id: str, *, after: str | None = None, limit: int = 100, **equal: str | None
) -> list[Player]:
    """Return at most `limit` players after an id, in the order in which they were made; by `side` and `label`."""
    with services.reading(club_id) as work:
        return work.players.find(after=after, limit=limit, **{name: value for name, value in equal.items() if value})


def update(
    services: Services,
    club_id: str,
    player_id: str,
    version: int,
    *,
    label: str | None = None,
    facts: Mapping[str, Any] | None = None,
) -> Player:
    """Change the version that was read; `facts` are replaced. Raises NotFound, VersionConflict, Refused."""
    with services.work(club_id) as work:
        player = known_player(work, player_id)
        changes: dict[str, Any] = {"updated_at": services.now()}
        if label is not None and checked_label(label) != player.label:
            changes["label"] = checked_label(label)
            changes["former_labels"] = [*player.former_labels, player.label][-MAX_FORMER_LABELS:]
        if facts is not None:
            changes["facts"] = checked_facts(player.side, facts, services.rulebook, health=False)
            changes["age_band"] = changes["facts"].get("age_band")
        try:
            changed = work.players.update_version(player_id, version, changes)
        except ConstraintViolation:
            raise _taken(changes["label"]) from None
        if not changed:
            raise VersionConflict("player", known_player(work, player_id).version)
        work.matches.touch_of_player(player_id)
        player = known_player(work, player_id)
        work.commit()
    return player


def known_player(work: UnitOfWork, player_id: str) -> Player:
    """Return the player of this club. Raises NotFound."""
    return found(work.players.get(player_id), "player", player_id)


def _taken(label: str) -> Exception:
    return conflict("label-taken", "a label that no other player of this side has", "label", value=label)
