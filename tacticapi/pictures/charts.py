"""Draw charts: the chance of winning the match point by point, and beliefs as bars with their evidence."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from tacticapi.pictures.svg import ACCENT, PAPER, element, line, percent, picture, rows_of, shortened, tooltip, words

WIDTH, HEIGHT = 340.0, 250.0  # about the width of a phone, so that letters keep their size on it
LEFT, RIGHT, TOP, BOTTOM = 50.0, 332.0, 26.0, 200.0
SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
FAINT, CLEAR = 0.18, 0.55  # opacity of the lines behind the curve
DOT = 9.0
ROW, LEADING, ROW_LETTERS = 24.0, 14.0, 36
NAMED = 34.0  # a set narrower than this shows only its number
MODEL = "A model's calculation, not for betting"
TITLE = "The chance of winning the match after each point"
BAR_LEFT, BAR_RIGHT = 4.0, 256.0
BAR_ROW, BAR, HEAD = 62.0, 12.0, 24.0
BAR_LEADING = 15.0
MAX_LABEL_LETTERS, MAX_EVIDENCE_LETTERS = 36, 40  # letters per line
BELIEVED = "Beliefs about the opponent, and what was seen"

Spot = tuple[float, float]


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """The chance (0 to 1) after an entry; `played` is False if the score was set by hand."""

    set: int
    chance: float
    played: bool = True


@dataclass(frozen=True, slots=True)
class KeyPoint:
    """A point to mark: its number in the match (from 1) and its description. Marks are numbered in order."""

    number: int
    text: str


def win_curve(
    start: float,
    points: Sequence[CurvePoint],
    keys: Sequence[KeyPoint] = (),
    name: str = "curve",
    *,
    listed: bool = False,
) -> str:
    """Return the picture as SVG, with the key points below it if `listed`. Raises ValueError if there are no points."""
    if not points:
        raise ValueError("no point to draw")
    step = (RIGHT - LEFT) / len(points)
    chances = [start, *(point.chance for point in points)]
    spots = [(LEFT + step * place, _height(chance)) for place, chance in enumerate(chances)]
    return picture(
        name,
        (WIDTH, HEIGHT + sum(map(_depth, keys)) if listed else HEIGHT),
        TITLE,
        _description(start, points, keys),
        *_grid(),
        *_sets(points, spots),
        *_curve(points, spots),
        *_marks(keys, spots),
        words("points played", (LEFT + RIGHT) / 2, BOTTOM + 18, text_anchor="middle", fill_opacity=0.8),
        words(MODEL, RIGHT, BOTTOM + 36, text_anchor="end", fill_opacity=0.8),
        *(_list(keys) if listed else ()),
    )


def _height(chance: float) -> float:
    return BOTTOM - (BOTTOM - TOP) * chance


def _grid() -> Iterator[str]:
    for share in SHARES:
        y = _height(share)
        yield line((LEFT, y), (RIGHT, y), stroke_opacity=CLEAR if share == 0.5 else FAINT)
        yield words(percent(share), LEFT - 6, y + 4, text_anchor="end", fill_opacity=0.8)


def _sets(points: Sequence[CurvePoint], spots: Sequence[Spot]) -> Iterator[str]:
    begins = [place for place, point in enumerate(points) if not place or point.set != points[place - 1].set]
    for place, following in zip(begins, [*begins[1:], len(points)], strict=True):
        x, number = spots[place][0], points[place].set
        if place:
            yield line((x, TOP), (x, BOTTOM), stroke_opacity=CLEAR, stroke_dasharray="2 3")
        wide = spots[following][0] - x >= NAMED
        yield words(f"set {number}" if wide else str(number), x + 2, TOP - 8, fill_opacity=0.8)


def _curve(points: Sequence[CurvePoint], spots: Sequence[Spot]) -> Iterator[str]:
    run = [spots[0]]
    for point, before, after in zip(points, spots, spots[1:], strict=False):
        if point.played:
            run.append(after)
            continue
        yield from _run(run)
        yield line(before, after, stroke=ACCENT, stroke_width=1.5, stroke_dasharray="5 4")
        run = [after]
    yield from _run(run)


def _run(spots: Sequence[Spot]) -> Iterator[str]:
    if len(spots) > 1:
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in spots)
        yield element("polyline", points=path, fill="none", stroke=ACCENT, stroke_width=2, stroke_linejoin="round")


def _marks(keys: Sequence[KeyPoint], spots: Sequence[Spot]) -> Iterator[str]:
    """Draw a numbered dot at the end of each key point, moved aside if another dot is there."""
    taken: list[Spot] = []
    for rank, key in enumerate(keys, 1):
        x, y = foot = spots[key.number]
        up = -1 if y > (TOP + BOTTOM) / 2 else 1
        while any(abs(x - a) < 2 * DOT and abs(y - b) < 2 * DOT for a, b in taken):
            y += up * 2 * DOT
        taken.append((x, y))
        yield element("g", tooltip(f"{rank}: {key.text}"), line(foot, (x, y), stroke=ACCENT), _dot((x, y), rank))


def _dot(place: Spot, rank: int) -> str:
    x, y = place
    number = words(str(rank), x, y + 4, text_anchor="middle", fill=PAPER, font_weight="bold")
    return element("circle", cx=x, cy=y, r=DOT) + number


def _depth(key: KeyPoint) -> float:
    return ROW + LEADING * (len(rows_of(key.text, ROW_LETTERS)) - 1)


def _list(keys: Sequence[KeyPoint]) -> Iterator[str]:
    tops = accumulate(map(_depth, keys), initial=HEIGHT)
    for rank, (key, top) in enumerate(zip(keys, tops, strict=False), 1):
        yield _dot((DOT + 2, top + 8), rank)
        yield from (words(row, 3 * DOT, top + 12 + LEADING * n) for n, row in enumerate(rows_of(key.text, ROW_LETTERS)))


def _description(start: float, points: Sequence[CurvePoint], keys: Sequence[KeyPoint]) -> str:
    chances = [point.chance for point in points]
    low, high = min(chances), max(chances)
    told = [
        f"It began at {percent(start)} and ended at {percent(chances[-1])} after {len(points)} entries.",
        f"It was lowest, {percent(low)}, after entry {chances.index(low) + 1}, "
        f"and highest, {percent(high)}, after entry {chances.index(high) + 1}.",
        *(f"Key point {rank}: {key.text}." for rank, key in enumerate(keys, 1)),
        f"{MODEL}.",
    ]
    return " ".join(told)


@dataclass(frozen=True, slots=True)
class BeliefBar:
    """A belief: what it is about, its probability before and now (0 to 1), and the evidence in words."""

    label: str
    before: float
    now: float
    evidence: str


def belief_bars(bars: Sequence[BeliefBar], name: str = "beliefs", title: str = BELIEVED) -> str:
    """Return the picture as SVG, one row per belief, in the given order. Raises ValueError if there are no beliefs."""
    if not bars:
        raise ValueError("no belief to draw")
    heights = [BAR_ROW + BAR_LEADING * (len(rows_of(bar.evidence, MAX_EVIDENCE_LETTERS)) - 1) for bar in bars]
    tops = accumulate(heights, initial=HEAD)
    drawn = [part for bar, top in zip(bars, tops, strict=False) for part in _bar(bar, top)]
    key = words("bar: now; upright mark: before", BAR_LEFT, 14, fill_opacity=0.8)
    told = " ".join(told if told.endswith(".") else f"{told}." for told in map(_told, bars))
    return picture(name, (WIDTH, HEAD + sum(heights)), title, told, key, *drawn)


def _bar(bar: BeliefBar, top: float) -> Iterator[str]:
    y, full = top + 20, BAR_RIGHT - BAR_LEFT
    mark = BAR_LEFT + full * bar.before
    yield element(
        "g",
        tooltip(_told(bar)),
        words(shortened(bar.label, MAX_LABEL_LETTERS), BAR_LEFT, top + 14, font_size=13, font_weight="bold"),
        element("rect", x=BAR_LEFT, y=y, width=full, height=BAR, rx=3, fill_opacity=0.12),
        element("rect", x=BAR_LEFT, y=y, width=full * bar.now, height=BAR, rx=3, fill=ACCENT),
        line((mark, y - 3), (mark, y + BAR + 3), stroke_width=2),
        words(percent(bar.now), BAR_RIGHT + 8, y + BAR - 1),
        *(
            words(text, BAR_LEFT, y + BAR + 15 + BAR_LEADING * n, fill_opacity=0.8)
            for n, text in enumerate(rows_of(bar.evidence, MAX_EVIDENCE_LETTERS))
        ),
    )


def _told(bar: BeliefBar) -> str:
    return f"{bar.label}: {percent(bar.now)}, before {percent(bar.before)}. {bar.evidence}".rstrip()
