"""How big a gap beats the opponent, and which pattern opens it in how many balls."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tacticapi.api.calculations.court.gap_body import GapAsked
from tacticapi.api.calculations.court.parts import COURT_NUMBERS, MODEL
from tacticapi.court import Gap, Opening, OutOfReachError, Rally, Shot, arrival, openings, turned
from tacticapi.court import gap as gap_of
from tacticapi.court.numbers import usual

REPLY_DEPTH = 0.75  # of the way from the net to your contact: where their reply bounces
STANDS = "They are taken to meet the ball on the line across the court on which they stand."


@dataclass(frozen=True, slots=True)
class GapTold:
    """The gap of the stroke, and when each pattern opens one."""

    asked: GapAsked
    gap: Gap
    openings: tuple[Opening, ...]


def gap_told(asked: GapAsked) -> GapTold:
    """Calculate a gap. Raises OutOfReachError where the ball cannot get to its target."""
    found = gap_of(asked.shot, asked.place, asked.opponent, asked.mover)
    rally = Rally(
        asked.shot,
        asked.place,
        asked.mover,
        asked.opponent.spot,
        strong=-1 if asked.shot.target[0] > 0 else 1,
        margin=asked.margin,
        reply_time=_reply_time(asked),
        recovery=asked.recovery,
        late=usual(COURT_NUMBERS, "stand", "late_s"),
        closer=usual(COURT_NUMBERS, "stand", "closer_m"),
    )
    return GapTold(asked, found, openings(rally))


def gap_body(told: GapTold) -> dict[str, Any]:
    """The answer, unrounded."""
    return {
        "gap": {
            "needed_m": told.gap.needed,
            "open_m": told.gap.open,
            "enough": told.gap.enough,
            "ball_s": told.gap.ball.time,
            "reach_s": told.asked.mover.reach_time(told.gap.open),
            "ball_x": told.gap.ball.spot[0],
            "ball_y": told.gap.ball.spot[1],
        },
        "patterns": [_opening(one) for one in told.openings],
        "keep_going": keep_going(told),
        "notes": [*_notes(told), STANDS, MODEL],
    }


def keep_going(told: GapTold) -> str:
    """How long to keep to the strong side."""
    needed = told.gap.needed
    return (
        f"Keep to the strong side until the way of the ball into the open side passes more than {needed:.1f} m from "
        "them, or the ball comes short."
    )


def gap_words(gap: Gap) -> str:
    """Whether a gap is big enough, and why."""
    big = "big enough" if gap.enough else "not big enough"
    return f"This gap of {gap.open:.1f} m is {big}: they cover {gap.needed:.1f} m in {gap.ball.time:.2f} s."


def _notes(told: GapTold) -> Iterator[str]:
    yield gap_words(told.gap)
    if told.asked.short_share:
        yield f"A short reply has come about once in {1 / told.asked.short_share:.0f} balls so far."


def _opening(one: Opening) -> dict[str, Any]:
    return {
        "name": one.pattern.name,
        "title": one.pattern.title,
        "balls": one.balls,
        "open_m": one.gap.open if one.gap else None,
        "needed_m": one.gap.needed if one.gap else None,
        "after_short": one.after_short,
    }


def _reply_time(asked: GapAsked) -> float:
    """How long their reply takes to the own contact (s); as long as ours where theirs cannot get there."""
    start, own_line = (*turned(asked.opponent.spot), asked.shot.contact[2]), -asked.shot.contact[1]
    reply = Shot(start, (0.0, own_line * REPLY_DEPTH), asked.reply_speed, usual(COURT_NUMBERS, "shot", "topspin_rpm"))
    try:
        return arrival(reply, asked.place, own_line).time
    except OutOfReachError:
        return arrival(asked.shot, asked.place, asked.opponent.spot[1]).time
