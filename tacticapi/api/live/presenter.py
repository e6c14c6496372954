"""Advice on a kept match ▶ the JSON of the answer."""

from typing import Any

from tacticapi.api.suggestions.presenter import advice_body
from tacticapi.club import Snapshot
from tacticapi.club.advising import Given, Live


def live_body(live: Live) -> dict[str, Any]:
    """Advice as of now."""
    return {**advice_body(live.advice, live.id), **_of_match(live)}


def given_body(given: Given) -> dict[str, Any]:
    """Advice as it was given."""
    snapshot = given.snapshot
    return {
        **advice_body(given.advice, snapshot.id),
        **_of_match(snapshot),
        "given_at": snapshot.created_at.isoformat(),
        "situation": dict(given.situation) if given.situation is not None else None,
        "fired": list(given.fired),
    }


def line_body(snapshot: Snapshot) -> dict[str, Any]:
    """That advice was given."""
    return {
        "advice_id": snapshot.id,
        **_of_match(snapshot),
        "moment": snapshot.moment,
        "rulebook": {"version": snapshot.rulebook_version, "digest": snapshot.rulebook_digest},
        "given_at": snapshot.created_at.isoformat(),
    }


def _of_match(advice: Live | Snapshot) -> dict[str, Any]:
    return {"match_id": advice.match_id, "revision": advice.revision, "health_removed": advice.health_removed}
