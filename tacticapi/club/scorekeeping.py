"""Derive the score from the stored points, and the moment from the score."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from tacticapi.club.entries import (
    Receipt,
    added_once,
    append,
    check_open,
    correctable,
    given_entries,
    known_match,
    new_entry,
    raise_faults,
)
from tacticapi.club.services import Conflict, Once, Refused, Services, below, standing
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import MAX_TRIED, Game, Moment, OwnErrors, PointsPlayed, Tries, summed
from tacticapi.posted import SUM_EXPECTED, Posted, current_tactic, merged_tries, point_faults, try_faults
from tacticapi.rulebook.files import Fault
from tacticapi.scoring.formats import SIDES, Format, ScoreError, Side
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import State, after, is_change_of_ends, place
from tacticapi.store import Entry, Match, UnitOfWork

Counts = TypeVar("Counts", PointsPlayed, OwnErrors)


@dataclass(frozen=True, slots=True)
class Step:
    """A score entry and the states around it; `winner` is None if the score was set by hand, `own_error` if unknown."""

    before: State
    winner: Side | None
    own_error: bool | None
    after: State


def format_of(match: Match) -> Format:
    """Return the match format; by default, best of three tie-break sets."""
    return Format.from_wire(match.context.get("format"))


def steps(match: Match, points: Iterable[Entry], posted: Mapping[str, tuple[int, ...]] | None = None) -> list[Step]:
    """Return every valid entry with the states before and after it. Raises Refused for an impossible point.

    `posted` maps an entry's id to its index in the posted list, with which its fault paths begin.
    """
    fmt, first = format_of(match), match.first_server
    state = State(fmt, server=next((side for side in SIDES if side == first), None))
    found: list[Step] = []
    for entry in standing(points):
        body = entry.body or {}
        winner = next((side for side in SIDES if side == body.get("winner")), None)
        try:
            following = after(state, winner) if winner else read_score(fmt, body["score"])
        except ScoreError as refused:
            at = (*(posted or {}).get(entry.id, ()), *(() if winner else ("score",)))
            faults = [below(*at, fault=fault) for fault in refused.faults]
            raise (Conflict("match-decided", faults) if winner and state.winner else Refused(faults)) from None
        found.append(Step(state, winner, body.get("own_error"), following))
        state = following
    return found


def state_after(taken: Sequence[Step]) -> State | None:
    """Return the current state; None if no point or score has been entered."""
    return taken[-1].after if taken else None


def _by_game(parts: Iterable[tuple[Game, Counts]], none: Counts) -> Counts | None:
    games: dict[Game, Counts] = {}
    for game, part in parts:
        games[game] = games.get(game, none) + part
    return replace(sum(games.values(), none), by_game=tuple(games.items())) if games else None


def points_played(taken: Iterable[Step]) -> PointsPlayed | None:
    """Count our points by server and by game, for points with a known server; None if there are none."""
    told = ((place(one.before), point_played(one)) for one in taken if one.winner and one.before.server)
    return _by_game(told, PointsPlayed())


def point_played(step: Step) -> PointsPlayed:
    """Return a step as points played; empty if its winner or server is unknown."""
    counts = (int(step.winner == "own"), int(step.winner is not None))
    return PointsPlayed(*{"own": (*counts, 0, 0), "opponent": (0, 0, *counts)}.get(step.before.server or "", ()))


def own_errors(taken: Iterable[Step]) -> OwnErrors | None:
    """Count our unforced errors among the lost points for which this is known, also by game; None if there are none."""
    lost = ((place(one.before), one.own_error) for one in taken if one.winner == "opponent")
    return _by_game(((game, OwnErrors(error, 1)) for game, error in lost if error is not None), OwnErrors(0, 0))


@dataclass(frozen=True, slots=True)
class Scored:
    """The receipts for the added points, the score after them (None if no points are left), and the winner, if any."""

    receipts: list[Receipt]
    score: Mapping[str, Any] | None
    winner: str | None


def add_points(
    services: Services, club_id: str, match_id: str, posted: Any, *, supersedes: str | None = None, once: Once = None
) -> Scored:
    """Add {winner: own|opponent, own_error?: bool}, or {score: {...}} to set the score by hand; or a list of them.

    Lists are added in order, all-or-nothing. A single point can replace another (`supersedes`) or withdraw it (None).
    Raises NotFound, IdempotencyConflict; Refused for a point after the match has ended, and for an impossible score.
    """
    given = given_entries(posted, services.now(), point_faults)

    def do(work: UnitOfWork, match: Match) -> Scored:
        check_open(match)
        raise_faults(given)
        correctable(work.points, match, supersedes)
        entries = [new_entry(match, one, services.now(), supersedes) for one in given]
        places = {entry.id: one.at for entry, one in zip(entries, given, strict=True)}
        state = state_after(steps(match, [*work.points.of_match(match.id), *entries], places))
        receipts = append(work, match, work.points, entries)
        return Scored(receipts, state.to_wire() if state else None, state.winner if state else None)

    return added_once(services, (club_id, match_id), once, Scored, do)


def score(services: Services, club_id: str, match_id: str) -> tuple[Mapping[str, Any] | None, Moment]:
    """Return the score {sets, games, points, server} (None if nothing was entered) and the moment. Raises NotFound.

    The warm-up lasts until the first point.
    """
    with services.reading(club_id) as work:
        match = known_match(work, match_id)
        state = state_after(steps(match, work.points.of_match(match_id)))
    moment = Moment.AFTER_MATCH if match.status == "ended" else moment_of(state)
    return state.to_wire() if state else None, moment


def moment_of(state: State | None) -> Moment:
    """Return the moment at this score. A set break takes precedence over its change of ends."""
    if state is None:
        return Moment.AFTER_WARM_UP
    if state.winner is not None:
        return Moment.AFTER_MATCH
    if state.sets and state.games == (0, 0) and state.points == (0, 0):
        return Moment.SET_BREAK
    return Moment.CHANGE_OF_ENDS if is_change_of_ends(state) else Moment.BETWEEN_POINTS


def add_tries(
    services: Services, club_id: str, match_id: str, posted: Any, *, supersedes: str | None = None, once: Once = None
) -> list[Receipt]:
    """Add {tactic, tried, won} or a list; tries without a game go to the current game. Otherwise like `add_points`."""
    rulebook = services.rulebook
    given = given_entries(posted, services.now(), lambda body: try_faults(body, rulebook))
    raise_faults(given)

    def do(work: UnitOfWork, match: Match) -> list[Receipt]:
        check_open(match)
        correctable(work.tries, match, supersedes)
        undated = any(one.body and "game" not in one.body for one in given)
        taken = steps(match, work.points.of_match(match.id)) if undated else []
        dated = [replace(one, body=_dated(one.body, taken)) for one in given]
        entries = [new_entry(match, one, services.now(), supersedes) for one in dated]
        if too_many := tries_beyond([*work.tries.of_match(match.id), *entries], rulebook):
            last = {current_tactic(one.body["tactic"], rulebook): one.at for one in given if one.body}
            raise Refused(below(*last[one.tactic], fault=fault) for one, fault in too_many)
        return append(work, match, work.tries, entries)

    return added_once(services, (club_id, match_id), once, list[Receipt], do)


def _dated(body: Posted | None, taken: Sequence[Step]) -> Posted | None:
    """Return tries dated with the current game, if they name no game and the score is kept."""
    if not taken or body is None or "game" in body:
        return body
    over = body["tried"] and taken[-1].after.points == (0, 0)  # between games, the tries belong to the last game
    set_number, game = place(taken[-1].before if over else taken[-1].after)
    return {**body, "set": set_number, "game": game}


def tries_beyond(tries: Iterable[Entry], rulebook: Rulebook) -> list[tuple[Tries, Fault]]:
    """Return a fault for each tactic whose total tries in a match exceed the limit for one entry."""
    sums = summed(merged_tries((entry.body for entry in standing(tries) if entry.body), rulebook))
    return [(one, Fault(("tried",), one.tried, SUM_EXPECTED)) for one in sums.values() if one.tried > MAX_TRIED]
