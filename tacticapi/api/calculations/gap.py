"""Calculate how big a gap beats the opponent, and how many balls each pattern takes to open one."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError, post_load, validates_schema

from tacticapi.api.calculations import parts
from tacticapi.api.http import fields as wire
from tacticapi.api.situations import PartOfWholeSchema, messages
from tacticapi.court.flight import COURT
from tacticapi.court.shot import OutOfReachError, Shot
from tacticapi.court.standing import PATTERNS, Gap, Opening, Rally, Running, arrival, openings, turned
from tacticapi.court.standing import gap as gap_of

MAX_RUN_MPS = 9.0


class RunningOpponentSchema(parts.TheirSpotSchema):
    """Your opponent's position and movement when you strike the ball."""

    run_mps = wire.Real(-MAX_RUN_MPS, MAX_RUN_MPS, says="Their speed to your right, m/s. Omit if they stand still.")
    movement = parts.filled(parts.MovementSchema(), "How they move. Default: the usual values.")
    recovery_mps = parts.number("movement", "recovery_mps", "How fast they recover to the middle, metres per second.")
    reply_speed_mps = parts.number("shot", "speed_mps", "Speed of their replies, metres per second.")

    @post_load
    def spot(self, data: dict[str, Any], **kwargs: Any) -> Any:
        """Return their run, movement, recovery speed and reply speed."""
        running = Running((data["x"], data["y"]), data.get("run_mps", 0.0))
        return running, data["movement"], data["recovery_mps"], data["reply_speed_mps"]


class ShortRepliesSchema(PartOfWholeSchema):
    """Short replies from the side you keep hitting to, out of all replies from it."""

    part_name = "count"

    count = wire.Real(0, parts.MAX_COUNTED, required=True, says="Number of short replies.")
    of = wire.Real(1, parts.MAX_COUNTED, required=True, says="Number of all replies.")


class GapQuestionSchema(parts.StrokeSchema, parts.OccasionSchema):
    """A stroke to the open side, and where your opponent is."""

    opponent = wire.part(RunningOpponentSchema, required=True, says="Your opponent when you strike.")
    margin_m = parts.number("shot", "margin_m", "How far inside the lines the balls of the patterns land.")
    short_replies = wire.part(ShortRepliesSchema, says="How often their strong side replies short. Omit if unknown.")
    where = parts.WHERE

    @validates_schema
    def inside(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse a target outside the court, or in the middle."""
        found = parts.outside(COURT, data["target"], sided=True)
        if found:
            raise ValidationError(messages(found))

    def complete(self, query: parts.Question) -> None:
        """Add the shot, and the opponent's movement and replies."""
        query.shot = parts.stroke(query)
        query.opponent, query.mover, query.recovery, query.reply_speed = query.opponent


REPLY_DEPTH = 0.75  # of the way from the net to your contact: where their reply bounces
STANDS = "The model assumes that they meet the ball on the line across the court through their position."


@dataclass(frozen=True, slots=True)
class GapResult:
    """The gap for the stroke, and how many balls each pattern takes to open one."""

    query: parts.Question
    gap: Gap
    openings: tuple[Opening, ...]


def gap_result(query: parts.Question) -> GapResult:
    """Calculate the gap. Raises OutOfReachError if the ball cannot reach its target."""
    found = gap_of(query.shot, query.where, query.opponent, query.mover)
    rally = Rally(
        query.shot,
        query.where,
        query.mover,
        query.opponent.spot,
        strong=-1 if query.shot.target[0] > 0 else 1,
        margin=query.margin_m,
        reply_time=_reply_time(query),
        recovery=query.recovery,
        late=parts.usual("stand", "late_s"),
        closer=parts.usual("stand", "closer_m"),
    )
    return GapResult(query, found, openings(rally))


def keep_going(result: GapResult) -> str:
    """Return how long to keep hitting to the strong side."""
    needed = result.gap.needed
    return (
        f"Keep to the strong side until the ball into the open side would pass more than {needed:.1f} m from "
        "them, or they hit a short ball."
    )


def gap_words(gap: Gap) -> str:
    """Explain whether a gap is big enough, and why."""
    big = "big enough" if gap.enough else "not big enough"
    return f"This gap of {gap.open:.1f} m is {big}: they cover {gap.needed:.1f} m in {gap.ball.time:.2f} s."


def _notes(result: GapResult) -> Iterator[str]:
    yield gap_words(result.gap)
    short = result.query.short_replies
    if short and short["count"]:
        yield f"So far, about one reply in {short['of'] / short['count']:.0f} has been short."
    yield STANDS
    yield parts.MODEL


def _reply_time(query: parts.Question) -> float:
    """Return how long their reply takes to reach you (s), or your ball's time if their reply cannot reach you."""
    start, own_line = (*turned(query.opponent.spot), query.shot.contact[2]), -query.shot.contact[1]
    reply = Shot(start, (0.0, own_line * REPLY_DEPTH), query.reply_speed, parts.usual("shot", "topspin_rpm"))
    try:
        return arrival(reply, query.where, own_line).time
    except OutOfReachError:
        return arrival(query.shot, query.where, query.opponent.spot[1]).time


class GapAnswerSchema(wire.Answer):
    """The gap for this ball."""

    needed_m = wire.a_number("Metres they can cover while the ball flies; a larger gap beats them.", of="gap.needed")
    open_m = wire.a_number("Metres between them and the ball's path.", of="gap.open")
    enough = wire.a_fact("Whether the ball beats them.", of="gap.enough")
    ball_s = wire.a_number("Seconds until the ball reaches the point at which they could meet it.", of="gap.ball.time")
    reach_s = wire.a_number("Seconds until they can hit it.", of=lambda one: one.query.mover.reach_time(one.gap.open))
    ball_x = wire.a_number("Where they could meet it: metres to your right of the middle.", of="gap.ball.spot.0")
    ball_y = wire.a_number("Where they could meet it: metres beyond the net.", of="gap.ball.spot.1")


class PatternOpeningSchema(wire.Answer):
    """The number of balls after which a pattern opens the court."""

    name = wire.a_word([pattern.name for pattern in PATTERNS], "The pattern.", of="pattern.name")
    title = wire.a_text("The pattern in words.", of="pattern.title")
    balls = wire.a_count("Balls you strike, the last into the gap; absent if eight do not open a gap.", absent=True)
    open_m = wire.a_number(
        "The gap for the last ball, or the largest gap found; absent if no ball can be struck.",
        absent=True,
        of=lambda one: one.gap and one.gap.open,
    )
    needed_m = wire.a_number("The gap needed to beat them.", absent=True, of=lambda one: one.gap and one.gap.needed)
    after_short = wire.a_fact("Whether the pattern needs a short reply first.")


class GapResultSchema(parts.CalculationSchema):
    """The gap that beats the opponent, unrounded."""

    gap = wire.a_part(GapAnswerSchema, "The gap for the posted ball.", absent=True, of=wire.itself)
    patterns = wire.a_list(PatternOpeningSchema, "The usual patterns, quickest first.", absent=True, of="openings")
    keep_going = wire.a_text("How long to keep to the strong side.", absent=True, of=keep_going)
    notes = wire.texts("The result in plain sentences.", absent=True, of=_notes)
