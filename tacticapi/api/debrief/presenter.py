"""Debrief ▶ the JSON of the answer. Figures are rounded here and only here."""

from typing import Any

from tacticapi.api.debrief.words import NOTES
from tacticapi.club.debrief import BeginWith, BeliefMove, Debrief, Share, StoryPoint, TacticLine
from tacticapi.domain.rulebook import Rulebook

STORY_DIGITS = 4
CHANCE_DIGITS = 3


def debrief_body(told: Debrief, rulebook: Rulebook) -> dict[str, Any]:
    """The whole debrief."""
    return {
        "match_id": told.match_id,
        "rulebook": {"version": rulebook.version, "digest": rulebook.digest},
        "own": told.own,
        "opponent": told.opponent,
        "started_at": told.started_at.isoformat(),
        "ended_at": told.ended_at.isoformat() if told.ended_at else None,
        "score": told.score,
        "winner": told.winner,
        "story": [_point(point) for point in told.story],
        "important": [_point(point) for point in told.important],
        "tactics": [_tactic(line) for line in told.tactics],
        "beliefs": [_belief(move) for move in told.beliefs],
        "surprises": [_belief(move) for move in told.surprises],
        "begin_with": [_begin(one) for one in told.begin_with],
        "notice": list(NOTES),
    }


def _point(point: StoryPoint) -> dict[str, Any]:
    return {
        "number": point.number,
        "set": point.set,
        "game": point.game,
        "score": dict(point.score),
        "server": point.server,
        "winner": point.winner,
        "importance": round(point.importance, STORY_DIGITS),
        "chance_before": round(point.chance_before, STORY_DIGITS),
        "chance": round(point.chance, STORY_DIGITS),
    }


def _tactic(line: TacticLine) -> dict[str, Any]:
    return {
        "tactic": line.tactic,
        "title": line.title,
        "suggested": line.suggested,
        "first": line.first,
        "used": line.used,
        "not_used": line.not_used,
        "reasons": list(line.reasons),
        "outcomes": list(line.outcomes),
        "tries": _share(line.tries),
        "worse": _rounded(line.worse),
        "enough": line.enough,
    }


def _share(tries: Share) -> dict[str, Any]:
    bounds = {"share": tries.share, "low": tries.low, "high": tries.high}
    return {"won": tries.won, "of": tries.of, **{name: _rounded(value) for name, value in bounds.items()}}


def _belief(move: BeliefMove) -> dict[str, Any]:
    return {
        "trait": move.trait,
        "wing": move.wing,
        "title": move.title,
        "start": round(move.start, CHANCE_DIGITS),
        "end": round(move.end, CHANCE_DIGITS),
        "because": list(move.because),
    }


def _begin(one: BeginWith) -> dict[str, Any]:
    return {
        "tactic": one.tactic,
        "title": one.title,
        "say": one.say,
        "because": list(one.because),
        "stop_when": one.stop_when,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, CHANCE_DIGITS)
