"""What there is to see in a point: every chance that a vocabulary of tennis observations asks about."""

from collections.abc import Iterator
from typing import NamedTuple

from tests.rehearsal.world.match import OTHER, OWN, Point, Stroke
from tests.rehearsal.world.shots import (
    BACKHAND,
    BALLS,
    CAN_RUN_ROUND,
    COURTS,
    MIDDLE,
    PLAY_BALL,
    PLAY_SHOT,
    PLAY_SIDE,
    PLAY_TARGET,
    PLAY_WING,
    SHOTS,
    SIDES,
    SPOTS,
)
from tests.rehearsal.world.strokes import ERROR, GOOD, SHORT, WINNER

LONG_POINT = 8  # strokes
EARLY = 5  # strokes
SWINGS = {"block": "block", "low": "chip"}
EASY = ("neutral", "slow")
HARD_BALLS = {
    "high": "rally.against_high_ball", "low": "rally.against_low_ball", "fast": "rally.against_pace",
    "body": "rally.against_body_ball",
}  # fmt: skip
RISKY = ("fast", "wide", "drop")
ATTACKS = ("fast", "wide", "drop", "approach")

_BALL = [BALLS[b] for b in PLAY_BALL]
_SHOT = [SHOTS[s] for s in PLAY_SHOT]
_SIDE, _WING, _TARGET = PLAY_SIDE.tolist(), PLAY_WING.tolist(), PLAY_TARGET.tolist()


class Sighting(NamedTuple):
    """One chance to see something and what happened; `options` are the words where it is not yes or no."""

    what: str
    answer: bool | str
    wing: str | None = None
    serve: str | None = None
    options: tuple[str, ...] = ()


def sightings(point: Point, same_handed: bool) -> Iterator[Sighting]:
    """Everything to be seen in one point; `same_handed` says whether both play with the same hand."""
    if point.server == OTHER:
        yield from _their_serve(point)
    else:
        yield from _own_serve(point)
    yield from _whole_point(point)
    for stroke in point.strokes:
        if stroke.by == OTHER:
            yield from _their_return(point, stroke) if stroke.number == 2 else _their_stroke(stroke, same_handed)


def _their_serve(point: Point) -> Iterator[Sighting]:
    won = point.winner == OTHER
    yield Sighting("serve.first_serves_in", point.faults == 0)
    yield Sighting(f"serve.{COURTS[point.court]}_court_spots", SPOTS[point.first[1]], None, "first", SPOTS)
    if point.faults:
        yield Sighting("serve.second_serve_points_won", won)
        yield Sighting("serve.double_faults", point.serve is None)
    else:
        yield Sighting("serve.first_serve_points_won", won)
    if point.serve:
        serve = "second" if point.faults else "first"
        back = bool(point.strokes) and point.strokes[0].outcome != ERROR
        yield Sighting("serve.unreturned_serves", not back, None, serve)
        yield Sighting("record.returns_in", back, None, serve)


def _own_serve(point: Point) -> Iterator[Sighting]:
    yield Sighting("record.first_serves_in", point.faults == 0)
    if point.faults:
        yield Sighting("record.second_serve_points_won", point.winner == OWN)
        yield Sighting("record.double_faults", point.serve is None)
    if point.serve and not point.strokes and point.side != MIDDLE:
        yield Sighting(f"return.{SIDES[point.side or 0]}_in", False, None, "second" if point.faults else "first")


def _whole_point(point: Point) -> Iterator[Sighting]:
    own = [stroke.play for stroke in point.strokes if stroke.by == OWN]
    if len(point.strokes) + 1 > LONG_POINT:
        yield Sighting("rally.long_points_won", point.winner == OTHER)
    if any(_SHOT[play] == "drop" for play in own):
        yield Sighting("net.drop_reply", point.winner == OTHER)
    if reached_net(point, OWN):
        yield Sighting("record.net_points_won", point.winner == OWN)


def reached_net(point: Point, who: int) -> bool:
    """Whether a player came to the net: behind an approach that was in, or to volley or smash."""
    return any(
        _BALL[s.play] in ("volley", "smash") or (_SHOT[s.play] == "approach" and s.outcome != ERROR)
        for s in point.strokes
        if s.by == who
    )


def _their_return(point: Point, stroke: Stroke) -> Iterator[Sighting]:
    play, serve = stroke.play, "second" if point.faults else "first"
    kind, _, spot = _BALL[play].partition("/")
    side = _SIDE[play]
    wing = SIDES[_WING[play] if side == MIDDLE else side]
    back, handled = stroke.outcome != ERROR, stroke.outcome in (WINNER, GOOD)
    yield Sighting(f"return.{wing}_in", back, None, serve)
    swing = SWINGS.get(_SHOT[play], "drive")
    yield Sighting("return.return_swing", swing, SIDES[_WING[play]], serve, ("block", "chip", "drive"))
    if back:
        yield Sighting("return.deep_returns", handled, SIDES[_WING[play]], serve)
    if serve == "second":
        yield Sighting("return.attack_second", _SHOT[play] == "fast")
    if spot == "body":
        yield Sighting("return.against_body_ball", handled, SIDES[_WING[play]])
    if spot == "wide":
        yield Sighting("return.against_wide_serve", handled, wing)
        if back:
            yield Sighting("return.punishes_wide_serve", _attacked(stroke), wing)
    if kind == "kick" and side == BACKHAND:
        yield Sighting("return.against_kick", handled)


def _their_stroke(stroke: Stroke, same_handed: bool) -> Iterator[Sighting]:
    ball = _BALL[stroke.play]
    if ball == "pass":
        yield from _their_pass(stroke, same_handed)
    elif ball == "smash":
        yield from _their_smash(stroke)
    elif ball == "drop":
        yield Sighting("movement.forward", stroke.outcome in (WINNER, GOOD))
    elif ball != "volley":
        yield from _from_the_back(stroke, ball)
        yield from _by_ball(stroke, ball)


def _attacked(stroke: Stroke) -> bool:
    """Report whether a stroke was an attack that stayed in: a shot that takes a risk, or an outright winner."""
    return stroke.outcome == WINNER or (_SHOT[stroke.play] in ATTACKS and stroke.outcome != ERROR)


def _from_the_back(stroke: Stroke, ball: str) -> Iterator[Sighting]:
    play, outcome = stroke.play, stroke.outcome
    wing, missed = SIDES[_WING[play]], outcome == ERROR
    yield Sighting(f"rally.{wing}_errors", missed)
    yield Sighting(f"rally.{wing}_winners", outcome == WINNER)
    yield Sighting("rally.against_mixed_balls" if stroke.changed else "rally.errors_on_same_balls", missed, wing)
    if ball in EASY:
        yield Sighting(f"rally.{wing}_short", outcome == SHORT)
        if _SIDE[play] == MIDDLE:
            yield Sighting("rally.middle_ball_on_forehand", wing == "forehand")
    if _SIDE[play] == BACKHAND and ball in CAN_RUN_ROUND:
        yield Sighting("rally.ran_round_backhand", wing == "forehand")
    if _SHOT[play] in RISKY and stroke.number <= EARLY:
        yield Sighting("rally.early_risks_missed", missed)
    if _SHOT[play] == "drop":
        yield Sighting("net.drop_use", wing, None, None, ("forehand", "backhand"))


def _by_ball(stroke: Stroke, ball: str) -> Iterator[Sighting]:
    play, outcome = stroke.play, stroke.outcome
    wing, handled = SIDES[_WING[play]], outcome in (WINNER, GOOD)
    if ball in HARD_BALLS:
        yield Sighting(HARD_BALLS[ball], handled, wing)
    elif ball == "slow":
        yield Sighting("rally.against_no_pace", outcome != ERROR, wing)
        yield Sighting("rally.hurts_slow_balls", _attacked(stroke), wing)
    elif ball == "wide":
        yield Sighting(f"movement.corner_{SIDES[_SIDE[play]]}", handled)
    elif ball == "short":
        yield Sighting("rally.punishes_short_ball", _attacked(stroke), wing)
        yield Sighting("net.approach", _SHOT[play] == "approach")


def _their_pass(stroke: Stroke, same_handed: bool) -> Iterator[Sighting]:
    wing, target = _WING[stroke.play], _TARGET[stroke.play]
    way = "lob" if _SHOT[stroke.play] == "lob" else "cross" if (wing == target) == same_handed else "line"
    if way == "lob" or target != MIDDLE:
        yield Sighting("passing.direction", way, SIDES[wing], None, ("cross", "line", "lob"))


def _their_smash(stroke: Stroke) -> Iterator[Sighting]:
    yield Sighting("net.smashes_made", stroke.outcome in (WINNER, GOOD))
    yield Sighting("movement.back", stroke.outcome in (WINNER, GOOD))
