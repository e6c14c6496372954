"""The pictures of the calculations on court and ball."""

from re import sub

from tacticapi.api.calculations.court_position import PositionResult, stand_words
from tacticapi.api.calculations.gap import GapResult, gap_words
from tacticapi.api.calculations.shot_margin import MarginResult
from tacticapi.court import Margin, Reply, SmashBall
from tacticapi.court.margin import Ellipse
from tacticapi.court.shot import Outcome, Spot
from tacticapi.pictures import Note, Path, Person, Spread, Target, court_picture, percent

MISSES = (Outcome.NET, Outcome.LONG, Outcome.WIDE)
RING_M = 0.35
ROOMY_M = 1.4  # half axis of an ellipse that a figure fits into
NOTE_AT = 0.3  # of the ellipse's half axis beyond its middle, clear of the arrow's head


def drawn_margin(told: MarginResult) -> str:
    """The ball's way, where it lands with the chances in figures, the same to the other side, and the best aim."""
    contact, (x, y) = told.asked.shot.contact[:2], told.asked.shot.target
    balls = [(told.direction, told.meant, (x, y))]
    if told.other:
        balls.append(("line" if told.direction == "across" else "across", told.other, (-x, y)))
    landings = [(name, margin, margin.landing) for name, margin, _ in balls if margin.landing]
    best, people = told.best[0], [Person(contact, "you strike")]
    if told.direction != "serve":
        people.append(Person(told.asked.came_from, "ball came from", own=False))
    return court_picture(
        title="Where this ball lands, and how often it is in",
        description="Two thirds of the balls that pass the net land in each ellipse.",
        spreads=[Spread(e.centre, e.across, e.along, _told(name, of, e), e.turned) for name, of, e in landings],
        notes=[_inside(of, e) for _, of, e in landings if e.across >= ROOMY_M],
        targets=[Target(best.spot, unbroken(f"best aim: in {percent(best.chance)}"), RING_M)],
        paths=[Path((contact, target)) for _, _, target in balls],
        people=people,
        name="shot-margin",
    )


def drawn_position(told: PositionResult) -> str:
    """The stand with the widest balls, the smash with both ways, or the lob: the first of these that was asked for."""
    if told.stand and told.asked.ball:
        return _drawn_stand(told)
    if told.smash and told.asked.smash:
        return _drawn_reply(told.smash, told.asked.smash.contact[:2], "smash")
    return _drawn_lob(told)


def drawn_gap(told: GapResult) -> str:
    """The ball's way into the open side, and the gap beside the opponent."""
    them, ball = told.asked.opponent.spot, told.gap.ball.spot
    needed = told.gap.needed if ball[0] > them[0] else -told.gap.needed
    covered = (them[0] + needed, them[1])
    target = told.asked.shot.target
    big = "big enough" if told.gap.enough else "not big enough"
    way = (target, ball) if told.gap.ball.spot != target else (ball,)
    return court_picture(
        title="How big a gap beats your opponent",
        description=gap_words(told.gap),
        targets=[Target(target, "into the open side", RING_M)],
        paths=[
            Path((told.asked.shot.contact[:2], *way), f"{told.gap.ball.time:.2f} s"),
            Path((them, covered), unbroken(f"they cover {told.gap.needed:.1f} m"), player=True),
        ],
        people=[
            Person(told.asked.shot.contact[:2], "you strike"),
            Person(them, unbroken(f"your opponent; gap {told.gap.open:.1f} m, {big}"), own=False),
        ],
        name="gap",
    )


def _drawn_stand(told: PositionResult) -> str:
    assert told.stand is not None
    assert told.asked.ball is not None
    ball, middle, line = told.asked.ball.spot, told.stand.middle, told.stand.line
    people = [Person(ball, "your opponent", own=False), Person(middle.spot, "middle of the angles")]
    paths = [
        Path((ball, (middle.line_x, middle.spot[1])), "line"),
        Path((ball, (middle.cross_x, middle.spot[1])), "across"),
    ]
    if abs(line.spot[0] - middle.spot[0]) > RING_M:
        costs = unbroken(f"covering the line gives away {told.stand.metres:.1f} m")
        paths.append(Path((middle.spot, line.spot), costs, player=True))
    return court_picture(
        title="Where to stand for their next ball",
        description=f"{stand_words(middle, ball)} The arrows are their widest balls.",
        people=people,
        paths=paths,
        name="court-position",
    )


def _drawn_reply(reply: Reply, contact: Spot, name: str) -> str:
    return court_picture(
        title="Where to wait for the smash",
        description="Both ways of the smash with their shares; the full dot is your place.",
        people=[Person(contact, "they smash", own=False), Person(reply.spot, "wait here")],
        paths=[Path((contact, (ball.x, reply.spot[1])), _way_words(ball)) for ball in reply.balls],
        name=name,
    )


def _drawn_lob(told: PositionResult) -> str:
    assert told.lob is not None
    assert told.asked.lob is not None
    lob, stands = told.lob, told.asked.lob.opponent
    can = "they can smash here" if lob.smash_missing <= 0 else unbroken(f"{lob.smash_missing:.1f} m too late to smash")
    people = [Person(lob.shot.contact[:2], "you lob"), Person(stands, "your opponent", own=False)]
    paths = [Path((lob.shot.contact[:2], lob.shot.target)), Path((stands, lob.smash_spot), can, player=True)]
    if told.after_lob:
        people.append(Person(told.after_lob.spot, "wait here"))
        paths += [
            Path((lob.smash_spot, (ball.x, told.after_lob.spot[1])), _way_words(ball)) for ball in told.after_lob.balls
        ]
    return court_picture(
        title="Your lob, and where to wait for what follows",
        description=f"The lob passes {lob.over:.1f} m above the racket and lands after {lob.time:.1f} s.",
        targets=[Target(lob.shot.target, "lob lands", RING_M)],
        people=people,
        paths=paths,
        name="lob",
    )


def unbroken(text: str) -> str:
    """The text with its figures and their units kept on one line."""
    return sub(r"(?<=\d) (?=[%m°])", "\N{NO-BREAK SPACE}", text)


def _way_words(ball: SmashBall) -> str:
    way = "across the body" if ball.way == "across" else "other way"
    return unbroken(f"{way} ({ball.direction}): {percent(ball.chance)}")


def _told(name: str, margin: Margin, ellipse: Ellipse) -> str:
    """The chances in figures; that of in stands inside the ellipse where there is room for it."""
    outcomes = MISSES if ellipse.across >= ROOMY_M else (Outcome.IN, *MISSES)
    return f"{name}: " + ", ".join(_figure(outcome.name.lower(), margin, outcome) for outcome in outcomes)


def _inside(margin: Margin, ellipse: Ellipse) -> Note:
    spot = (ellipse.centre[0], ellipse.centre[1] + NOTE_AT * ellipse.along)
    return Note(spot, _figure("in", margin, Outcome.IN))


def _figure(name: str, margin: Margin, outcome: Outcome) -> str:
    return unbroken(f"{name} {percent(margin.chances[outcome])}")
