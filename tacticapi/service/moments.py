"""The moment that a match is at by its points, so that a client need not know the law to ask for advice at it."""

from tacticapi.domain.terms import Moment
from tacticapi.scoring import State, is_change_of_ends
from tacticapi.service.desk import Desk
from tacticapi.service.entries import known_match
from tacticapi.service.scorekeeping import state_after, steps


def moment_now(desk: Desk, club_id: str, match_id: str) -> Moment:
    """The moment by the kept points: before the first of them, the warm-up goes on. Raises NotFound."""
    with desk.reading(club_id) as work:
        match = known_match(work, match_id)
        state = state_after(steps(match, work.points.of_match(match_id)))
    return Moment.AFTER_MATCH if match.status == "ended" else moment_of(state)


def moment_of(state: State | None) -> Moment:
    """The moment exactly at this score. A set break stands above the change of ends that falls on it."""
    if state is None:
        return Moment.AFTER_WARM_UP
    if state.winner is not None:
        return Moment.AFTER_MATCH
    if state.sets and state.games == (0, 0) and state.points == (0, 0):
        return Moment.SET_BREAK
    return Moment.CHANGE_OF_ENDS if is_change_of_ends(state) else Moment.BETWEEN_POINTS
