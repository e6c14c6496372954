"""Follow the score from the kept points, and the moment from the score."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from tacticapi.club.entries import (
    WITHDRAWAL,
    Given,
    Receipt,
    added_once,
    append,
    check_open,
    correctable,
    given_entry,
    known_match,
    new_entry,
    raise_faults,
)
from tacticapi.club.services import Conflict, IdempotentRequest, Refused, Services, standing
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import MAX_TRIED, Game, Moment, OwnErrors, PointsPlayed, Tries, summed
from tacticapi.posted import SUM_EXPECTED, Posted, current_tactic, merged_tries, point_faults, try_faults
from tacticapi.rulebook.files import Fault
from tacticapi.scoring.formats import SIDES, Format, ScoreError, Side
from tacticapi.scoring.reading import read_score
from tacticapi.scoring.score import State, after, is_change_of_ends, place
from tacticapi.store import Entry, Match, UnitOfWork


@dataclass(frozen=True, slots=True)
class Step:
    """One entry with the states around it; `winner` is None if the score was set by hand, `own_error` if unknown."""

    before: State
    winner: Side | None
    own_error: bool | None
    after: State


def format_of(match: Match) -> Format:
    """Return the format of the match; best of three tie-break sets if none is known."""
    return Format.from_wire(match.context.get("format"))


def steps(match: Match, points: Iterable[Entry], posted: Mapping[str, int] | None = None) -> list[Step]:
    """Return every standing entry with the states around it. Raises Refused for a point that cannot follow.

    `posted` gives the place in a posted list by the id of the entry; its faults then begin with the place.
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
            at = (*([posted[entry.id]] if posted and entry.id in posted else []), *(() if winner else ("score",)))
            faults = [Fault((*at, *f.path), f.value, f.expected) for f in refused.faults]
            raise (Conflict("match-decided", faults) if winner and state.winner else Refused(faults)) from None
        found.append(Step(state, winner, body.get("own_error"), following))
        state = following
    return found


def state_after(taken: Sequence[Step]) -> State | None:
    """Return the state now; None if no point and no score was entered."""
    return taken[-1].after if taken else None


def points_played(taken: Iterable[Step]) -> PointsPlayed | None:
    """Return own points by who served and by game, of the points whose server is known; None without any."""
    games: dict[Game, PointsPlayed] = {}
    for step in taken:
        if step.winner and step.before.server:
            games[place(step.before)] = games.get(place(step.before), PointsPlayed()) + point_played(step)
    return replace(sum(games.values(), PointsPlayed()), by_game=tuple(games.items())) if games else None


def point_played(step: Step) -> PointsPlayed:
    """Return a step as points played: none if nobody won it or its server is not known."""
    counts = (int(step.winner == "own"), int(step.winner is not None))
    return PointsPlayed(*{"own": (*counts, 0, 0), "opponent": (0, 0, *counts)}.get(step.before.server or "", ()))


def own_errors(taken: Iterable[Step]) -> OwnErrors | None:
    """Return own unforced errors among the lost points of which it is known, by game too; None without any."""
    games: dict[Game, OwnErrors] = {}
    for step in taken:
        if step.winner == "opponent" and step.own_error is not None:
            games[place(step.before)] = games.get(place(step.before), OwnErrors(0, 0)) + OwnErrors(step.own_error, 1)
    return replace(sum(games.values(), OwnErrors(0, 0)), by_game=tuple(games.items())) if games else None


@dataclass(frozen=True, slots=True)
class Scored:
    """The added point, the score after it (None if no points are left), and the winner, if any."""

    id: str
    sequence: int
    recorded_at: datetime
    score: Mapping[str, Any] | None
    winner: str | None


@dataclass(frozen=True, slots=True)
class AllScored:
    """The points added together, the score after them (None if no points are left), and the winner, if any."""

    receipts: list[Receipt]
    score: Mapping[str, Any] | None
    winner: str | None


def add_point(
    services: Services,
    club_id: str,
    match_id: str,
    body: Mapping[str, Any] | None,
    *,
    supersedes: str | None = None,
    once: IdempotentRequest | None = None,
) -> Scored:
    """Add {winner: own|opponent, own_error?: bool}, or {score: {...}} to set the score by hand.

    With `supersedes` it replaces that entry; without a body it takes it back. Raises NotFound, IdempotencyConflict;
    Refused for a point after the end, and for an impossible score.
    """
    given = WITHDRAWAL if body is None else given_entry(body, services.now(), point_faults)

    def do(work: UnitOfWork, match: Match) -> Scored:
        check_open(match)
        raise_faults([given], pathed=False)
        correctable(work.points, match, supersedes)
        scored = _scored(work, match, [new_entry(match, 1, given, services.now(), supersedes)], pathed=False)
        (one,) = scored.receipts
        return Scored(one.id, one.sequence, one.recorded_at, scored.score, scored.winner)

    return added_once(services, (club_id, match_id), once, Scored, do)


def add_points(
    services: Services, club_id: str, match_id: str, bodies: Sequence[Any], *, once: IdempotentRequest | None = None
) -> AllScored:
    """Add all points in their order or, with any fault, none. Raises as `add_point`; paths begin with the place."""
    given = [given_entry(body, services.now(), point_faults) for body in bodies]

    def do(work: UnitOfWork, match: Match) -> AllScored:
        check_open(match)
        raise_faults(given, pathed=True)
        entries = [new_entry(match, place, one, services.now()) for place, one in enumerate(given, 1)]
        return _scored(work, match, entries, pathed=True)

    return added_once(services, (club_id, match_id), once, AllScored, do)


def _scored(work: UnitOfWork, match: Match, entries: Sequence[Entry], *, pathed: bool) -> AllScored:
    """Add points to a locked match, if they can follow one another and those before. Raises Refused."""
    posted = {entry.id: place for place, entry in enumerate(entries)} if pathed else None
    state = state_after(steps(match, [*work.points.of_match(match.id), *entries], posted))
    receipts = append(work, match, work.points, entries)
    return AllScored(receipts, state.to_wire() if state else None, state.winner if state else None)


def score(services: Services, club_id: str, match_id: str) -> Mapping[str, Any] | None:
    """Return the score {sets, games, points, server}; None if no point and no score was entered. Raises NotFound."""
    with services.reading(club_id) as work:
        state = state_after(steps(known_match(work, match_id), work.points.of_match(match_id)))
    return state.to_wire() if state else None


def moment_now(services: Services, club_id: str, match_id: str) -> Moment:
    """Return the moment by the kept points: before the first of them, the warm-up goes on. Raises NotFound."""
    with services.reading(club_id) as work:
        match = known_match(work, match_id)
        state = state_after(steps(match, work.points.of_match(match_id)))
    return Moment.AFTER_MATCH if match.status == "ended" else moment_of(state)


def moment_of(state: State | None) -> Moment:
    """Return the moment exactly at this score. A set break takes precedence over its change of ends."""
    if state is None:
        return Moment.AFTER_WARM_UP
    if state.winner is not None:
        return Moment.AFTER_MATCH
    if state.sets and state.games == (0, 0) and state.points == (0, 0):
        return Moment.SET_BREAK
    return Moment.CHANGE_OF_ENDS if is_change_of_ends(state) else Moment.BETWEEN_POINTS


def add_tries(
    services: Services,
    club_id: str,
    match_id: str,
    body: Posted | None,
    *,
    supersedes: str | None = None,
    once: IdempotentRequest | None = None,
) -> Receipt:
    """Add {tactic, tried, won}; `supersedes` as in `add_point`. Raises NotFound, Refused, IdempotencyConflict."""
    given = WITHDRAWAL if body is None else _given_tries(services, body)
    raise_faults([given], pathed=False)

    def do(work: UnitOfWork, match: Match) -> Receipt:
        check_open(match)
        correctable(work.tries, match, supersedes)
        return _tried(services, work, match, [given], supersedes)[0]

    return added_once(services, (club_id, match_id), once, Receipt, do)


def add_many_tries(
    services: Services, club_id: str, match_id: str, bodies: Sequence[Any], *, once: IdempotentRequest | None = None
) -> list[Receipt]:
    """Add all or, with any fault, none. Raises as `add_tries`; fault paths begin with the place."""
    given = [_given_tries(services, body) for body in bodies]
    raise_faults(given, pathed=True)

    def do(work: UnitOfWork, match: Match) -> dict[str, list[Receipt]]:
        check_open(match)
        return {"receipts": _tried(services, work, match, given, None, pathed=True)}

    return added_once(services, (club_id, match_id), once, dict[str, list[Receipt]], do)["receipts"]


def _given_tries(services: Services, body: Any) -> Given:
    return given_entry(body, services.now(), lambda posted: try_faults(posted, services.rulebook))


def _tried(
    services: Services,
    work: UnitOfWork,
    match: Match,
    given: Sequence[Given],
    supersedes: str | None,
    *,
    pathed: bool = False,
) -> list[Receipt]:
    """Add tries to a locked match, each dated by the game if it names none. Raises Refused."""
    undated = any(one.body and "game" not in one.body for one in given)
    taken = steps(match, work.points.of_match(match.id)) if undated else []
    dated = [replace(one, body=_dated(one.body, taken)) for one in given]
    entries = [new_entry(match, place, one, services.now(), supersedes) for place, one in enumerate(dated, 1)]
    if too_many := tries_beyond([*work.tries.of_match(match.id), *entries], services.rulebook):
        last = {current_tactic(one.body["tactic"], services.rulebook): n for n, one in enumerate(given) if one.body}
        raise Refused(
            Fault((*([last[one.tactic]] if pathed else []), *fault.path), fault.value, fault.expected)
            for one, fault in too_many
        )
    return append(work, match, work.tries, entries)


def _dated(body: Posted | None, taken: Sequence[Step]) -> Posted | None:
    """Return tries with the game that is being played, if they name none and the score is kept."""
    if not taken or body is None or "game" in body:
        return body
    over = body["tried"] and taken[-1].after.points == (0, 0)  # between games, what was tried was tried in the last one
    set_number, game = place(taken[-1].before if over else taken[-1].after)
    return {**body, "set": set_number, "game": game}


def tries_beyond(tries: Iterable[Entry], rulebook: Rulebook) -> list[tuple[Tries, Fault]]:
    """Return the tactics of which all entries of a match together hold more tries than one entry may, with a fault."""
    sums = summed(merged_tries((entry.body for entry in standing(tries) if entry.body), rulebook))
    return [(one, Fault(("tried",), one.tried, SUM_EXPECTED)) for one in sums.values() if one.tried > MAX_TRIED]
