"""Draw a court with marks and describe it in words, including serve spots and where a tactic happens."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final

from tacticapi.domain.court import BASELINE_M, SERVICE_LINE_M, SIDELINE_M, STICK_M, Hands, Place
from tacticapi.pictures.court_marks import (
    DOT,
    Frame,
    LandingArea,
    Mark,
    Note,
    Path,
    Person,
    Share,
    Spot,
    Target,
    View,
    box_of,
    court_lines,
    shown_lines,
)
from tacticapi.pictures.svg import CLEAR, Box, Labels, along, around_spot, figure, picture

MIDDLE_M = 0.15  # a spot closer than this counts as "in the middle"
ALONG: Final = (0.5, 0.35, 0.65, 0.2, 0.8)  # the fractions of a path at which its label may be placed
COURTS: Final = ("deuce", "ad")
SPOTS: Final = ("wide", "body", "T")
DEPTH_M = 1.1  # distance of a target from the service line: model default
_FROM_MIDDLE = {"T": 0, "body": 1, "wide": 2}
_RIGHT = {"deuce": 1, "ad": -1}  # which side of the middle your own service boxes are on
TITLE = "Where your opponent serves"
HEADING_M = 0.4  # distance of a court's name behind the service line
AREA_M = 0.9  # radius of a target in a rally: nobody aims more finely
FORWARD_M = 0.5  # for a mark beyond the net by less than this, their side is not drawn


def anchors(mark: Mark, frame: Frame) -> list[Box]:
    """Return the boxes beside which a mark's label may be placed; for a path, they lie along its last stretch."""
    if not isinstance(mark, Path):
        return [extent(mark, frame)]
    (x, y), (u, v) = map(frame.at, mark.spots[-2:])
    return [around_spot(x + (u - x) * part, y + (v - y) * part) for part in ALONG]


def extent(mark: Mark, frame: Frame) -> Box:
    """Return the box around a mark in the picture."""
    left, top, right, bottom = box_of(frame, mark.corners())
    room = DOT if isinstance(mark, Person) else 0.0
    return left - room, top - room, right + room, bottom + room


def covers(mark: Mark, frame: Frame) -> list[Box]:
    """Return the boxes that a label must not cover; a path consists of many small boxes."""
    if not isinstance(mark, Path):
        return [extent(mark, frame)]
    places = [frame.at(spot) for spot in mark.spots]
    return [box for a, b in pairwise(places) for box in along(a, b)]


def _strip(start: Spot, end: Spot) -> Box:
    """Return the box around a court line, which runs straight across or straight along the court."""
    (left, right), (top, bottom) = (sorted(ends) for ends in zip(start, end, strict=True))
    return left - CLEAR, top - CLEAR, right + CLEAR, bottom + CLEAR


def place_words(spot: Spot) -> str:
    """Describe where a spot (metres) is: its side, its distance from the middle and from the nearest line across."""
    x, y = spot
    half = "at the net" if y == 0 else f"on {'your' if y < 0 else 'their'} side"
    aside = f"{abs(x):.1f} m to your {'right' if x > 0 else 'left'} of the middle"
    return ", ".join(filter(None, [half, "in the middle" if abs(x) < MIDDLE_M else aside, _along(abs(y))]))


def _along(far: float) -> str:
    if far == 0:
        return ""
    if far > BASELINE_M:
        return f"{far - BASELINE_M:.1f} m behind the baseline"
    if far > (BASELINE_M + SERVICE_LINE_M) / 2:
        return f"{BASELINE_M - far:.1f} m inside the baseline"
    return f"{far:.1f} m from the net"


def court_picture(
    *,
    title: str,
    description: str = "",
    view: View = View.WHOLE,
    shares: Sequence[Share] = (),
    spreads: Sequence[LandingArea] = (),
    targets: Sequence[Target] = (),
    paths: Sequence[Path] = (),
    people: Sequence[Person] = (),
    notes: Sequence[Note] = (),
    name: str = "court",
    scale: float | None = None,
) -> str:
    """Return the picture as SVG, drawn in metres (see `domain.court`); a smaller `scale` enlarges the labels."""
    marks: list[Mark] = [*spreads, *paths, *targets, *people]
    labelled: list[Mark] = [*people, *targets, *spreads, *paths]
    bold = {"font_weight": "bold"}
    frame = Frame.around(view, [spot for mark in [*shares, *marks] for spot in mark.corners()], scale)
    taken = [_strip(frame.at(a), frame.at(b)) for a, b in [*shown_lines(frame), ((-STICK_M, 0), (STICK_M, 0))]]
    taken += [box for mark in marks for box in covers(mark, frame)]
    labels = Labels(frame.size, taken)
    return picture(
        name,
        frame.size,
        title,
        " ".join(filter(None, [description, *map(_told_share, shares), *map(_told, marks)])),
        court_lines(frame),
        *(mark.drawn(frame) for mark in [*shares, *notes, *marks]),
        *(
            labels.write(mark.text, anchors(mark, frame), **(bold if isinstance(mark, Target | Person) else {}))
            for mark in labelled
            if mark.text
        ),
    )


def _told_share(share: Share) -> str:
    seen = "nothing seen" if share.share is None else share.figure
    return f"{share.told or share.text}: {', '.join(part for part in (seen, share.beneath) if part)}."


def _told(mark: Mark) -> str:
    if isinstance(mark, Path):
        start, end = (place_words(spot) for spot in (mark.spots[0], mark.spots[-1]))
        return f"{mark.text or 'path'}: from {start} to {end}."
    return f"{mark.text}: {place_words(mark.spot)}." if mark.text else ""


def third(court: str, spot: str) -> tuple[Spot, Spot]:
    """Return two opposite corners (metres) of a third of your own service box. Raises KeyError for an unknown spot."""
    inner, width = _FROM_MIDDLE[spot], _RIGHT[court] * SIDELINE_M / len(SPOTS)
    return (inner * width, 0.0), ((inner + 1) * width, -SERVICE_LINE_M)


def aim(court: str, spot: str) -> Spot:
    """Return the spot (metres) to aim at in the opposite service box. Raises KeyError for an unknown spot."""
    (inner, _), (outer, _) = third(court, spot)
    return -(inner + outer) / 2, SERVICE_LINE_M - DEPTH_M


def serve_spots(counts: Mapping[str, Mapping[str, float]], name: str = "serves", title: str = TITLE) -> str:
    """Draw the serves by court and spot, as seen by the receiver. Raises ValueError if there are none."""
    if not any(sum(spots.values()) for spots in counts.values()):
        raise ValueError("no serve to draw")
    shares: list[Share] = []
    notes: list[Note] = []
    for court in COURTS:
        spots = counts.get(court, {})
        seen = sum(spots.values())
        shares += _shares(court, spots)
        told = f"{figure(seen)} serve{'' if seen == 1 else 's'}" if seen else "none seen"
        at = _RIGHT[court] * SIDELINE_M / 2, -SERVICE_LINE_M - HEADING_M
        notes.append(Note(at, f"{court} court:\n{told}"))
    told = ". ".join(" ".join(note.text.split()) for note in notes)
    description = f"Shares of the serves into each of your service boxes. {told}."
    view = View.OWN_BOXES
    return court_picture(title=title, description=description, view=view, shares=shares, notes=notes, name=name)


def _shares(court: str, spots: Mapping[str, float]) -> list[Share]:
    seen, most = sum(spots.values()), max(spots.values(), default=0.0)
    return [
        Share(
            *third(court, spot),
            share=spots.get(spot, 0.0) / seen if seen else None,
            text=spot,
            beneath=f"{figure(spots.get(spot, 0.0))} of {figure(seen)}" if seen else "",
            main=bool(seen) and spots.get(spot, 0.0) == most,
            told=f"{court} court, {spot}",
        )
        for spot in SPOTS
    ]


def tactic_picture(place: Place, hands: Hands, *, title: str) -> str:
    """Return the picture as SVG, showing the part of the court it needs. Raises ValueError if there are no marks."""
    targets = [Target(aim(court, spot), f"{court} court: {spot}") for court, spot in place.serves.items()]
    targets += [Target(one.at.spot(hands), one.text, AREA_M) for one in place.targets]
    sides = ((True, place.you), (False, place.opponent))
    people = [Person(one.at.spot(hands), one.text, own) for own, marks in sides for one in marks]
    paths = [Path(tuple(point.spot(hands) for point in way.through), way.text, way.player) for way in place.ways]
    marks: list[Mark] = [*targets, *people, *paths]
    if not marks:
        raise ValueError("no place to draw")
    ys = [y for mark in marks for _, y in mark.corners()]
    return court_picture(
        title=title,
        description=drawn_for(hands),
        view=View.OPPONENT if min(ys) > -FORWARD_M else View.OWN if max(ys) < FORWARD_M else View.WHOLE,
        targets=targets,
        people=people,
        paths=paths,
        name="place",
    )


def drawn_for(hands: Hands) -> str:
    """Return a sentence that says for which hands a picture is drawn."""
    own, opponent = ("left" if hand == "left" else "right" for hand in (hands.own, hands.opponent))
    return f"You are at the bottom, facing the net. Drawn with you {own}-handed and your opponent {opponent}-handed."
