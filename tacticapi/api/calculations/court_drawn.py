"""Draw the calculations of shots, positions and gaps."""

from re import sub

from tacticapi.api.calculations.court_position import PositionResult, stand_words
from tacticapi.api.calculations.gap import GapResult, gap_words
from tacticapi.api.calculations.shot_margin import MarginResult
from tacticapi.court.shot import Ellipse, Margin, Outcome
from tacticapi.pictures.court import court_picture
from tacticapi.pictures.court_marks import LandingArea, Note, Path, Person, Target
from tacticapi.pictures.svg import percent

MISSES = (Outcome.NET, Outcome.LONG, Outcome.WIDE)
RING_M = 0.35
ROOMY_M = 1.4  # an ellipse with a longer semi-axis has room for a figure
NOTE_AT = 0.3  # of the ellipse's semi-axis beyond its middle, clear of the arrowhead


def drawn_margin(result: MarginResult) -> str:
    """Draw the ball's path, its landing area with the chances, the same ball to the other side, and the best aim."""
    contact, (x, y) = result.query.shot.contact[:2], result.query.shot.target
    balls = [(result.direction, result.meant, (x, y))]
    if result.other:
        balls.append(("line" if result.direction == "across" else "across", result.other, (-x, y)))
    landings = [(name, margin, margin.landing) for name, margin, _ in balls if margin.landing]
    best, people = result.best[0], [Person(contact, "you strike")]
    if result.direction != "serve":
        people.append(Person(result.query.came_from, "ball came from", own=False))
    return court_picture(
        title="Where this ball lands, and how often it is in",
        description="Each ellipse contains two thirds of the balls that clear the net.",
        spreads=[LandingArea(e.centre, e.across, e.along, _figures(name, of, e), e.turned) for name, of, e in landings],
        notes=[_inside(of, e) for _, of, e in landings if e.across >= ROOMY_M],
        targets=[Target(best.spot, unbroken(f"best aim: in {percent(best.chance)}"), RING_M)],
        paths=[Path((contact, target)) for _, _, target in balls],
        people=people,
        name="shot-margin",
    )


def drawn_position(result: PositionResult) -> str:
    """Draw where to stand, and the opponent's widest balls."""
    ball, middle, line = result.query.ball.spot, result.middle, result.line
    people = [Person(ball, "your opponent", own=False), Person(middle.spot, "middle of the angles")]
    ways = {"line": middle.line_x, "across": middle.cross_x}
    paths = [Path((ball, (x, middle.spot[1])), name) for name, x in ways.items()]
    if abs(line.spot[0] - middle.spot[0]) > RING_M:
        costs = unbroken(f"covering the line gives away {result.metres:.1f} m")
        paths.append(Path((middle.spot, line.spot), costs, player=True))
    return court_picture(
        title="Where to stand for their next ball",
        description=f"{stand_words(middle, ball)} The arrows are their widest balls.",
        people=people,
        paths=paths,
        name="court-position",
    )


def drawn_gap(result: GapResult) -> str:
    """Draw the ball's path into the open side, and the gap beside the opponent."""
    them, ball = result.query.opponent.spot, result.gap.ball.spot
    needed = result.gap.needed if ball[0] > them[0] else -result.gap.needed
    covered = (them[0] + needed, them[1])
    target = result.query.shot.target
    big = "big enough" if result.gap.enough else "not big enough"
    way = (target, ball) if result.gap.ball.spot != target else (ball,)
    return court_picture(
        title="How big a gap beats your opponent",
        description=gap_words(result.gap),
        targets=[Target(target, "into the open side", RING_M)],
        paths=[
            Path((result.query.shot.contact[:2], *way), f"{result.gap.ball.time:.2f} s"),
            Path((them, covered), unbroken(f"they cover {result.gap.needed:.1f} m"), player=True),
        ],
        people=[
            Person(result.query.shot.contact[:2], "you strike"),
            Person(them, unbroken(f"your opponent; gap {result.gap.open:.1f} m, {big}"), own=False),
        ],
        name="gap",
    )


def unbroken(text: str) -> str:
    """Return the text with each figure kept on the same line as its unit."""
    return sub(r"(?<=\d) (?=[%m°])", "\N{NO-BREAK SPACE}", text)


def _figures(name: str, margin: Margin, ellipse: Ellipse) -> str:
    """Return the chances as figures, without the one for "in" if it fits inside the ellipse."""
    outcomes = MISSES if ellipse.across >= ROOMY_M else (Outcome.IN, *MISSES)
    return f"{name}: " + ", ".join(_figure(outcome.name.lower(), margin, outcome) for outcome in outcomes)


def _inside(margin: Margin, ellipse: Ellipse) -> Note:
    spot = (ellipse.centre[0], ellipse.centre[1] + NOTE_AT * ellipse.along)
    return Note(spot, _figure("in", margin, Outcome.IN))


def _figure(name: str, margin: Margin, outcome: Outcome) -> str:
    return unbroken(f"{name} {percent(margin.chances[outcome])}")
