"""Everything kept of a match ▶ the situation that advice is asked for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tacticapi.domain.belief import belief_name
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Earlier, Previous, Situation
from tacticapi.domain.terms import Moment
from tacticapi.service.codec import decode
from tacticapi.service.entries import known_match, standing
from tacticapi.service.facts import profile
from tacticapi.service.posted import observation
from tacticapi.service.scorekeeping import Step, own_errors, points_played, state_after, steps
from tacticapi.service.tried import merged_tries
from tacticapi.store import Entry, Match, ObservationEntry, Player, Snapshot, UnitOfWork


@dataclass(frozen=True, slots=True)
class Kept:
    """All that is kept of one match: entries with their history, the score step by step, the newest advice."""

    match: Match
    own: Player | None
    opponent: Player | None
    observations: Sequence[ObservationEntry]
    tries: Sequence[Entry]
    steps: Sequence[Step]
    latest: Snapshot | None


def read_kept(work: UnitOfWork, match_id: str) -> Kept:
    """All that is kept of a match. Raises NotFound."""
    match = known_match(work, match_id)
    own, opponent = (work.players.get(id) if id else None for id in (match.own_id, match.opponent_id))
    return Kept(
        match,
        own,
        opponent,
        work.observations.of_match(match_id),
        work.tries.of_match(match_id),
        steps(match, work.points.of_match(match_id)),
        work.snapshots.latest(match_id),
    )


def situation(
    kept: Kept, moment: Moment, rulebook: Rulebook, *, limit: int | None = None, minutes_left: float | None = None
) -> Situation:
    """What is kept of a match as the domain knows it, without superseded and withdrawn entries.

    What this rulebook does not know any more is left out too.
    """
    seen = [entry.body for entry in standing(kept.observations) if entry.body and entry.kind in rulebook.kinds]
    state = state_after(kept.steps)
    return Situation(
        moment=moment,
        context=profile(kept.match.context),
        own=profile(_facts(kept.own, kept.match.own_facts)),
        opponent=profile(_facts(kept.opponent, kept.match.opponent_facts)),
        observations=tuple(observation(n, body, rulebook.kinds[body["what"]]) for n, body in enumerate(seen)),
        score=state.to_wire() if state else None,
        points_played=points_played(kept.steps),
        own_errors=own_errors(kept.steps),
        tries=merged_tries((entry.body for entry in standing(kept.tries) if entry.body), rulebook),
        limit=limit,
        minutes_left=minutes_left,
        previous=_previous(kept.latest),
        priors=dict(kept.match.priors),
        earlier=tuple(decode(Earlier, one) for one in kept.match.earlier),
    )


def _facts(player: Player | None, overrides: Mapping[str, Any]) -> dict[str, Any]:
    return {**(player.facts if player else {}), **overrides}


def _previous(snapshot: Snapshot | None) -> Previous | None:
    if snapshot is None:
        return None
    shown, beliefs = snapshot.advice["suggestions"], snapshot.advice["beliefs"]
    probabilities = {belief_name(belief["trait"], belief["wing"]): belief["probability"] for belief in beliefs}
    return Previous(snapshot.id, shown[0]["tactic"] if shown else None, probabilities)
