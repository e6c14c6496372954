"""Match ▶ the JSON of the answer. What earlier matches taught is analysis and stands in no match."""

from typing import Any

from tacticapi.club import Match


def match_body(match: Match) -> dict[str, Any]:
    """A match as kept."""
    return {
        "id": match.id,
        "own_id": match.own_id,
        "opponent_id": match.opponent_id,
        "context": dict(match.context),
        "own": dict(match.own_facts),
        "opponent": dict(match.opponent_facts),
        "first_server": match.first_server,
        "status": match.status,
        "started_at": match.started_at.isoformat(),
        "ended_at": match.ended_at.isoformat() if match.ended_at else None,
        "version": match.version,
        "created_at": match.created_at.isoformat(),
    }
