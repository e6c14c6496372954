"""The figures about court and ball beside a suggestion: for the posted player, or as the general rule.

What flies is flown once for the same inputs and then remembered, so that advice stays quick. Rally balls are struck
from wide behind the baseline and land well inside the lines; a serve is struck beside the centre mark, down the T.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from tacticapi.court.flight import BOXES
from tacticapi.court.margin import mirrored, serve_window
from tacticapi.court.shot import Outcome, OutOfReachError, Place, Shot, Spread, Window, aimed
from tacticapi.court.smash import Reply, Smash, across_chance, reply_stand
from tacticapi.court.standing import Mover, arrival, bisected, mover_of, place_of, spread_of, usual, widest
from tacticapi.domain.advice import CourtNote
from tacticapi.domain.court import (
    BASELINE_M,
    LENGTH_M,
    NET_CENTRE_HEIGHT_M,
    SERVICE_LINE_M,
    SIDELINE_M,
    SINGLES_WIDTH_M,
)
from tacticapi.domain.rules import Rulebook
from tacticapi.domain.situation import Situation

REMEMBERED = 256
TOPSPIN_RPM = 1000.0  # what is compared with a flat serve
Court = Mapping[str, Any]
Told = tuple[str, bool]
KMH = 3.6
HANDS = ("right", "left")
SMASHES = "net.smash_direction"
WAYS = {"across": "across the body", "other": "the other way"}
DIRECTIONS = {"cross": "cross-court", "line": "down the line"}


@dataclass(frozen=True, slots=True)
class Drive:
    """A rally ball: speed (m/s), topspin (rpm), height of the contact (m), how far inside the lines it is meant (m)."""

    speed: float
    topspin: float
    height: float
    margin: float

    @property
    def across(self) -> Shot:
        """Return the shot from the corner to the corner across."""
        contact = (SIDELINE_M - self.margin / 2, -BASELINE_M - self.margin / 2, self.height)
        target = (self.margin - SIDELINE_M, BASELINE_M - self.margin)
        return Shot(contact, target, self.speed, self.topspin)


@dataclass(frozen=True, slots=True)
class ChanceIn:
    """Return the chance that a ball is in, and that it ends in the net or long."""

    inside: float
    net_or_long: float


@lru_cache(maxsize=REMEMBERED)
def in_chances(drive: Drive, spread: Spread, place: Place) -> tuple[ChanceIn, ChanceIn] | None:
    """Return the chances across and down the line, equally far inside; None if the ball does not get there."""
    try:
        across, line = (_in_chance(shot, spread, place) for shot in (drive.across, mirrored(drive.across)))
    except OutOfReachError:
        return None
    return across, line


@lru_cache(maxsize=REMEMBERED)
def serve_windows(height: float, speed: float, place: Place) -> tuple[float, float]:
    """Return the degrees up and down that put a serve down the T in, flat and with topspin; 0 if none does."""
    shot = Shot((0.0, -BASELINE_M, height), (0.0, SERVICE_LINE_M), speed, into=BOXES["deuce"])
    flat, spun = (serve_window(one, place) for one in (shot, replace(shot, topspin=TOPSPIN_RPM)))
    return _width(flat), _width(spun)


@lru_cache(maxsize=REMEMBERED)
def gap_that_beats(drive: Drive, mover: Mover, place: Place, line: float) -> tuple[float, float] | None:
    """Return the metres that an opponent on this line (m) covers, and the seconds until the ball passes, or None."""
    try:
        ball = arrival(mirrored(drive.across), place, line)
    except OutOfReachError:
        return None
    return mover.covered(ball.time), ball.time


@lru_cache(maxsize=REMEMBERED)
def smash_reply(smash: Smash, mover: Mover, place: Place, line: float) -> Reply:
    """Return where to wait for a smash. Raises OutOfReachError for one that cannot get into the court."""
    return reply_stand(smash, place, mover, line)


def _in_chance(shot: Shot, spread: Spread, place: Place) -> ChanceIn:
    aim = aimed(shot, place)
    window = Window.of(shot, place, aim, spread)
    chance = {outcome: window.chance_at(aim, outcome, spread) for outcome in Outcome}
    return ChanceIn(chance[Outcome.IN], chance[Outcome.NET] + chance[Outcome.LONG])


def _width(window: tuple[float, float]) -> float:
    width = window[1] - window[0]
    return width if width > 0 else 0.0


def court_note(tactic: str, situation: Situation, rulebook: Rulebook) -> CourtNote | None:
    """Return the figure of a tactic, None if it has none."""
    figure, court = rulebook.figures.get(tactic), rulebook.defaults.get("court")
    if figure is None or court is None:
        return None
    text, posted = NOTES[figure](situation, court)
    return CourtNote(figure, text, posted)


def _across_or_line(situation: Situation, court: Court) -> Told:
    own = situation.own
    vertical, sideways = own.get("spread_vertical"), own.get("spread_sideways")
    if vertical is None and sideways is None:
        longer = (LENGTH_M**2 + SINGLES_WIDTH_M**2) ** 0.5 - LENGTH_M
        return (
            f"Cross-court, the ball crosses the lower middle of the net ({NET_CENTRE_HEIGHT_M:.2f} m). It has up to "
            f"{longer:.1f} m more court than down the line."
        ), False
    level = spread_of(court)
    spread = Spread(
        level.vertical if vertical is None else float(vertical), level.sideways if sideways is None else float(sideways)
    )
    chances = in_chances(_drive(situation, court), spread, place_of(court))
    if chances is None:
        return "At this speed a rally ball from the corner does not reach the deep cross-court corner.", True
    across, line = chances
    return (
        f"With your spread a rally ball from wide is in {100 * across.inside:.0f} times of 100 cross-court and "
        f"{100 * line.inside:.0f} down the line. It is in the net or long {100 * across.net_or_long:.0f} times against "
        f"{100 * line.net_or_long:.0f}."
    ), True


def _serve_window(situation: Situation, court: Court) -> Told:
    speed, height = situation.own.get("serve_speed"), situation.own.get("serve_contact")
    if speed is None or height is None:
        return "A higher contact and more topspin widen the window of a serve. More speed narrows it.", False
    flat, spun = serve_windows(float(height), float(speed) / KMH, place_of(court))
    struck = f"struck at {height:.1f} m with {speed:.0f} km/h"
    if spun == 0:
        return f"No serve down the T is in, {struck}.", True
    return (
        f"A flat serve down the T, {struck}, has a window of {flat:.1f} degrees up and down. 1,000 turns a minute of "
        f"topspin make it {spun:.1f} degrees."
    ), True


def _recovery_spot(situation: Situation, court: Court) -> Told:
    return _recovery(situation, -BASELINE_M - usual(court, "stand", "behind_baseline_m"), "away from their ball")


def _recovery_at_net(situation: Situation, court: Court) -> Told:
    return _recovery(situation, -usual(court, "stand", "net_distance_m"), "where their ball is")


def _recovery(situation: Situation, line: float, side: str) -> Told:
    posted = situation.opponent.get("wide_contact")
    contact = SIDELINE_M if posted is None else float(posted)
    stand = bisected((contact, BASELINE_M), widest((contact, BASELINE_M)), line)
    when = "in the corner" if posted is None else f"{contact:.1f} m from the middle"
    place = f"about {abs(stand.spot[0]):.1f} m to the side of the middle {side}"
    return f"When they strike {when}, wait {place}.", posted is not None


def _gap(situation: Situation, court: Court) -> Told:
    reaction, top = situation.opponent.get("reaction_time"), situation.opponent.get("run_speed")
    if reaction is None and top is None:
        return "A gap is big enough when it exceeds what they cover, reach included, while your ball flies.", False
    mover = mover_of(court, {"reaction_s": reaction, "top_speed_mps": top})
    line = BASELINE_M + usual(court, "stand", "behind_baseline_m")
    found = gap_that_beats(_drive(situation, court), mover, place_of(court), line)
    if found is None:
        return "At this speed a rally ball does not reach the far corner.", True
    metres, seconds = found
    return f"A gap is big enough at {metres:.1f} m: they cover that in the {seconds:.1f} s that your ball flies.", True


def _smash_cover(situation: Situation, court: Court) -> Told:
    hand = situation.opponent.get("serving_hand") or situation.opponent.get("handedness")
    if hand not in HANDS:
        return "Across the body: cross-court from their forehand side, down the line from the backhand side.", False
    line = -BASELINE_M - usual(court, "stand", "behind_baseline_m")
    reply = smash_reply(_smash(str(hand), situation, court), mover_of(court), place_of(court), line)
    if len(reply.covered) == len(reply.balls):
        return "From the baseline both ways of a smash moving back are within reach.", True
    ball = next(ball for ball in reply.balls if ball.way in reply.covered)
    side = "towards" if reply.spot[0] * ball.x > 0 else "away from"
    return (
        f"Lobbed over the forehand shoulder, {WAYS[ball.way]} ({DIRECTIONS[ball.direction]}) is the likelier smash, "
        f"{100 * ball.chance:.0f} %: wait about {abs(reply.spot[0]):.1f} m from the middle, {side} that side."
    ), True


def _smash(hand: str, situation: Situation, court: Court) -> Smash:
    """Return their usual smash moving back, over the forehand shoulder, with the share that was counted."""
    counted = [o for o in situation.observations if o.what == SMASHES]
    across = sum((o.counts or {}).get("across", o.count or 0.0) for o in counted)
    of = sum(sum(o.counts.values()) if o.counts else o.of or 0.0 for o in counted)
    prior = {"share": usual(court, "smash", "across_share"), "smashes": usual(court, "smash", "across_smashes")}
    names = ("side_m", "from_net_m", "height_m", "moving_back_speed_mps", "margin_m")
    side, far, height, speed, margin = (usual(court, "smash", name) for name in names)
    contact = (-side if hand == "right" else side, far, height)
    return Smash(contact, speed, hand, across_chance(prior, across, of), margin)


def _drive(situation: Situation, court: Court) -> Drive:
    """Return the rally ball, at the speed that was posted."""
    topspin, height, margin = (usual(court, "shot", name) for name in ("topspin_rpm", "height_m", "margin_m"))
    return Drive(_rally_speed(situation, court), topspin, height, margin)


def _rally_speed(situation: Situation, court: Court) -> float:
    posted = situation.own.get("rally_speed")
    return usual(court, "shot", "speed_mps") if posted is None else float(posted) / KMH


NOTES: Mapping[str, Callable[[Situation, Court], Told]] = {
    "across-or-line": _across_or_line,
    "serve-window": _serve_window,
    "recovery-spot": _recovery_spot,
    "recovery-spot-at-net": _recovery_at_net,
    "gap-that-beats": _gap,
    "smash-cover": _smash_cover,
}
