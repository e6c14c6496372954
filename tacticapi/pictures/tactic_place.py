"""Where a tactic happens, for one pair of hands."""

from collections.abc import Iterable

from tacticapi.domain.place import Hands, Place, PlacedMark, PlacedWay
from tacticapi.pictures.court import court_picture
from tacticapi.pictures.court_marks import Mark, Path, Person, Target
from tacticapi.pictures.court_view import View
from tacticapi.pictures.service_boxes import aim

AREA_M = 0.9  # radius of a target in a rally: nobody aims finer
FORWARD_M = 0.5  # what lies beyond the net by less than this needs no opposite half


def tactic_picture(
    place: Place, hands: Hands, *, title: str, name: str = "place", view: View | None = None, scale: float | None = None
) -> str:
    """The picture as SVG text, with as much of the court as it needs where no view is given.

    Raises ValueError for a place with nothing on it.
    """
    targets = [*_serves(place), *(Target(one.at.spot(hands), one.text, AREA_M) for one in place.targets)]
    people = [*_people(place.you, hands, own=True), *_people(place.opponent, hands, own=False)]
    paths = [_path(way, hands) for way in place.ways]
    marks: list[Mark] = [*targets, *people, *paths]
    if not marks:
        raise ValueError("no place to draw")
    return court_picture(
        title=title,
        description=drawn_for(hands),
        view=view or _view([y for mark in marks for _, y in mark.corners()]),
        targets=targets,
        people=people,
        paths=paths,
        name=name,
        scale=scale,
    )


def drawn_for(hands: Hands) -> str:
    """For which hands it is drawn."""
    own, opponent = ("left" if hand == "left" else "right" for hand in (hands.own, hands.opponent))
    return f"You stand below, and face the net. Drawn for you as {own}-handed and your opponent as {opponent}-handed."


def _view(along: Iterable[float]) -> View:
    ys = list(along)
    if min(ys) > -FORWARD_M:
        return View.OPPONENT
    return View.OWN if max(ys) < FORWARD_M else View.WHOLE


def _serves(place: Place) -> list[Target]:
    return [Target(aim(court, spot), f"{court} court: {spot}") for court, spot in place.serves.items()]


def _people(marks: Iterable[PlacedMark], hands: Hands, *, own: bool) -> list[Person]:
    return [Person(one.at.spot(hands), one.text, own) for one in marks]


def _path(way: PlacedWay, hands: Hands) -> Path:
    return Path(tuple(point.spot(hands) for point in way.through), way.text, way.player)
