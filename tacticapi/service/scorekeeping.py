"""Kept points ▶ the score: each point played on from the one before, or the score set by hand."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tacticapi.domain.situation import OwnErrors, PointsPlayed
from tacticapi.knowledge import Fault
from tacticapi.scoring import SIDES, Format, ScoreError, Side, State, after, read_score
from tacticapi.service.entries import standing
from tacticapi.service.errors import Refused
from tacticapi.store import Entry, Match


@dataclass(frozen=True, slots=True)
class Step:
    """One entry: the state before it, who won the point (None: the score was set by hand), the state after it.

    `own_error` says of a lost point whether an own unforced error lost it; None is unknown.
    """

    before: State
    winner: Side | None
    own_error: bool | None
    after: State


def point_faults(body: Any) -> list[Fault]:
    """The faults of {winner, own_error?} or {score}."""
    if not isinstance(body, Mapping) or len({"winner", "score"} & body.keys()) != 1:
        return [Fault((), None, "an object with winner, or with score where it is set by hand")]
    unknown = [Fault((name,), body[name], "winner, own_error or score") for name in body.keys() - _NAMES]
    if "winner" in body and body["winner"] not in SIDES:
        unknown.append(Fault(("winner",), body["winner"], "own or opponent"))
    error = body.get("own_error")
    if error is not None and not (isinstance(error, bool) and body.get("winner") == "opponent"):
        unknown.append(Fault(("own_error",), error, "true or false, beside a point that the opponent won"))
    return unknown


_NAMES = frozenset({"winner", "own_error", "score"})


def format_of(match: Match) -> Format:
    """The format of the match; best of three tie-break sets where none is known."""
    return Format.from_wire(match.context.get("format"))


def steps(match: Match, points: Iterable[Entry]) -> list[Step]:
    """Every standing entry with the states around it. Raises Refused for a point that cannot follow."""
    fmt, first = format_of(match), match.first_server
    state = State(fmt, server=next((side for side in SIDES if side == first), None))
    found: list[Step] = []
    for entry in standing(points):
        body = entry.body or {}
        winner = next((side for side in SIDES if side == body.get("winner")), None)
        try:
            following = after(state, winner) if winner else read_score(fmt, body["score"])
        except ScoreError as refused:
            place = () if winner else ("score",)
            raise Refused(Fault((*place, *f.path), f.value, f.expected) for f in refused.faults) from None
        found.append(Step(state, winner, body.get("own_error"), following))
        state = following
    return found


def state_after(taken: Sequence[Step]) -> State | None:
    """The state now; None where no point and no score was entered."""
    return taken[-1].after if taken else None


def points_played(taken: Iterable[Step]) -> PointsPlayed | None:
    """Own points won and played by who served, of the points whose server is known; None without any."""
    played = PointsPlayed()
    for step in taken:
        won = int(step.winner == "own")
        if step.winner is None or step.before.server is None:
            continue
        if step.before.server == "own":
            played = replace(played, serve_won=played.serve_won + won, serve_of=played.serve_of + 1)
        else:
            played = replace(played, return_won=played.return_won + won, return_of=played.return_of + 1)
    return played if played.serve_of + played.return_of else None


def own_errors(taken: Iterable[Step]) -> OwnErrors | None:
    """Own unforced errors among the lost points of which it is known; None without any."""
    known = [step.own_error for step in taken if step.winner == "opponent" and step.own_error is not None]
    return OwnErrors(sum(known), len(known)) if known else None
