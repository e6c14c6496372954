"""The debrief of one finished match."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tacticapi.domain.advice import Suggestion
from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment, Show
from tacticapi.pricing.baseline import baseline
from tacticapi.scoring import Side
from tacticapi.service.debrief.beliefs import BeliefMove, belief_moves, surprises
from tacticapi.service.debrief.story import StoryPoint, most_important, story
from tacticapi.service.debrief.tactics import TacticLine, tactic_lines
from tacticapi.service.desk import Desk
from tacticapi.service.errors import refuse
from tacticapi.service.health import health_of
from tacticapi.service.scorekeeping import format_of, state_after
from tacticapi.service.situations import Kept, read_kept, situation


@dataclass(frozen=True, slots=True)
class BeginWith:
    """What to start with against this opponent next time, and why, in counts."""

    tactic: str
    title: str
    say: str
    because: tuple[str, ...]
    stop_when: str


@dataclass(frozen=True, slots=True)
class Debrief:
    """What the match leaves. `score` is the last one, `winner` who won by it; None where it is not known."""

    match_id: str
    own: str | None
    opponent: str | None
    started_at: datetime
    ended_at: datetime | None
    score: Mapping[str, Any] | None
    winner: Side | None
    story: tuple[StoryPoint, ...]
    important: tuple[StoryPoint, ...]
    tactics: tuple[TacticLine, ...]
    beliefs: tuple[BeliefMove, ...]
    surprises: tuple[BeliefMove, ...]
    begin_with: tuple[BeginWith, ...]


def debrief(desk: Desk, club_id: str, match_id: str) -> Debrief:
    """The debrief. Raises NotFound; Refused while the match goes on, since an event may not permit analysis then."""
    with desk.reading(club_id) as work:
        kept = read_kept(work, match_id)
        snapshots, feedback = work.snapshots.find(match_id=match_id), work.feedback.of_match(match_id)
    if kept.match.status != "ended":
        raise refuse("a match that has ended", value=kept.match.status)
    figures = desk.rulebook.defaults["debrief"]
    known = health_of(desk.rulebook).situation(situation(kept, Moment.AFTER_MATCH, desk.rulebook))
    base, state = baseline(known, desk.rulebook.defaults), state_after(kept.steps)
    told, moves = story(kept.steps, format_of(kept.match), base), belief_moves(known, state, desk.rulebook)
    return Debrief(
        match_id=match_id,
        **_who(kept),
        score=state.to_wire() if state else None,
        winner=state.winner if state else None,
        story=told,
        important=most_important(told, figures["important_points"]),
        tactics=tactic_lines(snapshots, feedback, known, base, desk.rulebook),
        beliefs=moves,
        surprises=surprises(moves, figures["surprises"]),
        begin_with=begin_with(desk, known),
    )


def begin_with(desk: Desk, known: Situation) -> tuple[BeginWith, ...]:
    """The tactics that pay best by everything that the match showed and that was tried in it; no reminders."""
    tactics, most = desk.rulebook.tactics, desk.rulebook.defaults["debrief"]["begin_with"]
    shown = desk.adviser.recommend(known).suggestions
    paying = [one for one in shown if tactics[one.tactic].show is Show.GAIN and one.gain.point > 0]
    return tuple(_begin(one) for one in paying[:most])


def _begin(one: Suggestion) -> BeginWith:
    return BeginWith(one.tactic, one.title, one.say, tuple(reason.text for reason in one.because), one.stop_when)


def _who(kept: Kept) -> dict[str, Any]:
    return {
        "own": kept.own.label if kept.own else None,
        "opponent": kept.opponent.label if kept.opponent else None,
        "started_at": kept.match.started_at,
        "ended_at": kept.match.ended_at,
    }
