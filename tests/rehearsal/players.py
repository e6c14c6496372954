"""The advised player: turns notes into a situation, asks for advice, and plays what it may show at that moment.

The only part of the rehearsal that knows the recommender.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

from tacticapi.advice import Adviser
from tacticapi.domain.advice import Advice, Suggestion
from tacticapi.domain.situation import Moment, Observation, PointsPlayed, Situation, Tries, Way, Wing
from tests.rehearsal.outcome import Stage
from tests.rehearsal.world.match import OTHER, OWN, Point
from tests.rehearsal.world.pairing import Pairing
from tests.rehearsal.world.shots import BACKHAND, COURTS, FOREHAND, SPOTS
from tests.rehearsal.world.tactics import CHANGES, Chosen, marks, options, serve_marks

MOMENTS = {
    Stage.WARM_UP: Moment.AFTER_WARM_UP,
    Stage.FOUR_GAMES: Moment.CHANGE_OF_ENDS,
    Stage.SET: Moment.SET_BREAK,
}
WAYS = (Way.COUNTS, Way.COUNT, Way.RATING, Way.VALUE, Way.AMOUNT, Way.SEEN)


@dataclass(frozen=True, slots=True)
class Record:
    """What is known when advice is asked for: notes in plain form, the points so far, the score, tactics tried."""

    notes: Sequence[Mapping[str, Any]]
    points: Sequence[Point] = ()
    score: Mapping[str, Any] | None = None
    tries: tuple[Tries, ...] = ()


def ask(adviser: Adviser, pairing: Pairing, stage: Stage, record: Record, limit: int | None = None) -> Advice:
    """The advice for what has been written down so far; `limit` asks for more than the moment shows."""
    hands = {True: "left", False: "right"}
    context = {"coaching": "permitted", "device": "coach", "format": {"sets": 3}}
    return adviser.recommend(
        Situation(
            moment=MOMENTS[stage],
            context=context,
            own={"handedness": hands[pairing.user.left], **pairing.user.ratings},
            opponent={"handedness": hands[pairing.nature.left], "backhand_type": pairing.nature.backhand},
            observations=tuple(_observation(i, note) for i, note in enumerate(record.notes)),
            score=record.score,
            points_played=_points_played(record.points) if record.points else None,
            tries=record.tries,
            limit=limit,
        )
    )


def _observation(index: int, note: Mapping[str, Any]) -> Observation:
    said = {key: value for key, value in note.items() if key != "wing"}
    way = next(way for way in WAYS if way.value in said)
    return Observation(index=index, way=way, wing=Wing(note["wing"]) if "wing" in note else None, **said)


def _points_played(points: Sequence[Point]) -> PointsPlayed:
    served, returned = ([p.winner == OWN for p in points if p.server == server] for server in (OWN, OTHER))
    return PointsPlayed(sum(served), len(served), sum(returned), len(returned))


def plays_of(advice: Advice, notes: Sequence[Mapping[str, Any]]) -> list[Chosen]:
    """The suggestions as they are played here."""
    return [Chosen(s.tactic, _aim(s, notes)) for s in advice.suggestions]


def _aim(suggestion: Suggestion, notes: Sequence[Mapping[str, Any]]) -> int:
    aims = CHANGES[suggestion.tactic].aims if suggestion.tactic in CHANGES else (BACKHAND,)
    guarded = [note["value"] for note in notes if note["what"] == "return.shading" and note["value"] != "none"]
    if suggestion.tactic == "serve-away-from-lean" and guarded:
        return FOREHAND if guarded[-1] == "forehand" else BACKHAND
    wings = [rest.wing for rest in suggestion.rests_on if rest.wing is not None]
    wings += [target.wing for target in suggestion.targets]
    wished = FOREHAND if wings and wings[0] is Wing.FOREHAND else BACKHAND
    return wished if wished in aims else aims[0]


def leaned(notes: Sequence[Mapping[str, Any]]) -> tuple[int, int] | None:
    """The spot to lean to by court: the one noted most often; None where no serve was noted for a court."""
    spots = []
    for court in COURTS:
        kinds = (f"serve.{court}_court_spots", "warmup.serve_spots")
        tallies = [[n["counts"] for n in notes if n["what"] == kind] for kind in kinds]
        counted = next((found for found in tallies if found), [])
        totals = [sum(tally.get(spot, 0) for tally in counted) for spot in SPOTS]
        if not any(totals):
            return None
        spots.append(totals.index(max(totals)))
    return spots[0], spots[1]


def drawn(rng: Random, count: int) -> list[Chosen]:
    """So many tactics at random."""
    return rng.sample(options(), count)


def tries_of(chosen: Sequence[Chosen], points: Sequence[Point], pairing: Pairing) -> tuple[Tries, ...]:
    """How often each tactic was played as meant, and the points won by it: points with a play or serve of its own."""
    found = []
    for one in chosen:
        change = CHANGES.get(one.tactic)
        if change is None:
            continue
        plays = [marks(p, one.aim).tolist() for p in change.plays if p.by > 1]
        serves = [serve_marks(s, one.aim, pairing.nature.left) for s in change.serves if s.by > 1]
        tried = [p for p in points if _shows(p, plays, serves)]
        found.append(Tries(one.tactic, len(tried), sum(p.winner == OWN for p in tried)))
    return tuple(t for t in found if t.tried)


def _shows(point: Point, plays: Sequence[Sequence[bool]], serves: Sequence[Any]) -> bool:
    served = point.server == OWN and point.serve is not None
    if served and point.serve and any(s[min(point.faults, 1), point.court][point.serve] for s in serves):
        return True
    return any(stroke.by == OWN and any(marked[stroke.play] for marked in plays) for stroke in point.strokes)
