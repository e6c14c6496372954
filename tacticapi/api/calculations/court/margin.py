"""How risky a shot is, where to aim instead, and the same ball to the other side."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from tacticapi.api.calculations.court.margin_body import MarginAsked
from tacticapi.api.calculations.court.parts import COURT_NUMBERS, MODEL
from tacticapi.court import BestAim, Fitted, FittedSpread, Margin, Spread, best_aims, fitted_spread, mirrored, scattered
from tacticapi.court import shot_margin as margin_of
from tacticapi.court.flight import COURT
from tacticapi.court.numbers import spread_of
from tacticapi.court.shot import Outcome
from tacticapi.domain.court import NET_CENTRE_HEIGHT_M

WIDE_M = 0.5  # further from the middle than this, one side is the line and the other across
AIMS_THERE = "The balls are taken to scatter evenly round the aim; nobody's aim is that true."


@dataclass(frozen=True, slots=True)
class MarginTold:
    """A shot margin as it was calculated: the spread and where it is from, the shot, its best aims, the other side."""

    asked: MarginAsked
    spread: Spread
    fitted: FittedSpread | None
    meant: Margin
    best: tuple[BestAim, BestAim]
    other: Margin | None

    @property
    def direction(self) -> str:
        """Across, line, or serve; straight from the middle, where neither has a name."""
        if self.asked.shot.into is not COURT:
            return "serve"
        if self.other is None:
            return "straight"
        return "line" if self.asked.shot.contact[0] * self.asked.shot.target[0] > 0 else "across"


def margin_told(asked: MarginAsked) -> MarginTold:
    """Calculate a margin. Raises OutOfReachError where the ball cannot get to its target."""
    fitted = fitted_spread(asked.shot, asked.place, asked.counts) if asked.counts else None
    level = spread_of(COURT_NUMBERS, asked.level, serve=asked.shot.into is not COURT)
    spread = fitted.spread if fitted else asked.spread or level
    scatter = scattered(asked.draws, asked.seed)
    meant = margin_of(asked.shot, asked.place, spread, scatter, asked.came_from)
    best = best_aims(asked.shot, asked.place, spread, asked.depth_weight)
    sided = asked.shot.into is COURT and abs(asked.shot.contact[0]) >= WIDE_M and asked.shot.target[0] != 0
    other = margin_of(mirrored(asked.shot), asked.place, spread, scatter, asked.came_from) if sided else None
    return MarginTold(asked, spread, fitted, meant, best, other)


def margin_body(told: MarginTold) -> dict[str, Any]:
    """The answer, unrounded."""
    spots = {"in": told.best[0], "blend": told.best[1]}
    other = {"across": "line", "line": "across"}.get(told.direction)
    return {
        "spread": _spread(told),
        "shot": _shot(told.meant, told.direction),
        "best": {name: _aim(aim) for name, aim in spots.items()},
        "other_side": _shot(told.other, other) if told.other else None,
        "comparison": list(comparison(told)),
        "notes": [*_notes(told), AIMS_THERE, MODEL],
    }


def comparison(told: MarginTold) -> Iterator[str]:
    """Across against the line for the same ball: the chances, and what makes the difference."""
    if told.other is None:
        return
    pair = (told.meant, told.other) if told.direction == "across" else (told.other, told.meant)
    across, line = pair
    chance = {one: 100 * margin.chances[Outcome.IN] for one, margin in zip(("across", "line"), pair, strict=True)}
    yield f"In: {chance['across']:.1f} of 100 cross-court, {chance['line']:.1f} down the line, as far from the lines."
    for name, outcomes in (("net or long", (Outcome.NET, Outcome.LONG)), ("wide", (Outcome.WIDE,))):
        missed = [100 * sum(margin.chances[one] for one in outcomes) for margin in pair]
        yield f"Missed {name}: {missed[0]:.1f} of 100 cross-court, {missed[1]:.1f} down the line."
    yield (
        f"The net stands {across.way.net_height:.2f} m high where the ball passes cross-court, "
        f"{line.way.net_height:.2f} m down the line ({NET_CENTRE_HEIGHT_M:.3f} m in the middle)."
    )
    yield f"There are {across.way.room:.1f} m of court along the way cross-court, {line.way.room:.1f} m down the line."
    yield (
        f"The ball turns by {across.way.turn:.0f} degrees cross-court and by {line.way.turn:.0f} down the line; "
        "the spread is taken to be the same for both, though a sharper turn is harder to time."
    )


def _notes(told: MarginTold) -> Iterator[str]:
    if told.fitted:
        yield f"The spread is the likeliest one for {told.fitted.balls:g} balls; low and high bound 80 %."
        both = (told.fitted.vertical, told.fitted.sideways)
        if any(end is None for side in both for end in (side.low, side.high)):
            yield "Where a bound is null the balls counted leave it open."
    if told.meant.way.over_net < 0:
        yield "Struck as meant, this ball meets the net: it needs more spin, less speed or a nearer line to aim over."
    yield f"A chance of {told.meant.draws} balls is off by {told.meant.error:.3f} or so (one standard error)."


def _spread(told: MarginTold) -> dict[str, Any]:
    source = "counts" if told.fitted else "posted" if told.asked.spread else "level"
    exact = (Fitted(degrees, degrees, degrees) for degrees in (told.spread.vertical, told.spread.sideways))
    sides = (told.fitted.vertical, told.fitted.sideways) if told.fitted else exact
    return {
        "from": source,
        "balls": told.fitted.balls if told.fitted else None,
        **{name: asdict(side) for name, side in zip(("vertical", "sideways"), sides, strict=True)},
    }


def _shot(margin: Margin, direction: str | None) -> dict[str, Any]:
    way, landing = margin.way, margin.landing
    return {
        "direction": direction,
        "chances": {outcome.name.lower(): chance for outcome, chance in margin.chances.items()},
        "error": margin.error,
        "draws": margin.draws,
        "elevation_deg": way.aim.elevation,
        "net_height_m": way.net_height,
        "over_net_m": way.over_net,
        "length_m": way.length,
        "room_m": way.room,
        "time_s": way.time,
        "turn_deg": way.turn,
        "landing": landing
        and {
            "x": landing.centre[0],
            "y": landing.centre[1],
            "across_m": landing.across,
            "along_m": landing.along,
            "turned_deg": landing.turned,
        },
    }


def _aim(aim: BestAim) -> dict[str, Any]:
    return {
        "x": aim.spot[0],
        "y": aim.spot[1],
        "from_side_m": aim.from_side,
        "from_back_m": aim.from_back,
        "chance": aim.chance,
        "depth": aim.depth,
    }
