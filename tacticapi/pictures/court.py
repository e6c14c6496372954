"""A court with what is to be seen on it: targets, players, ways, spreads, and shares as figures."""

from collections.abc import Sequence

from tacticapi.pictures.court_labels import along, covers, extent, label_of
from tacticapi.pictures.court_marks import Mark, Note, Path, Person, Share, Spread, Target
from tacticapi.pictures.court_view import Frame, View, court_lines, shown_lines
from tacticapi.pictures.court_words import place_words
from tacticapi.pictures.labels import Labels
from tacticapi.pictures.svg import picture


def court_picture(
    *,
    title: str,
    description: str = "",
    view: View = View.WHOLE,
    shares: Sequence[Share] = (),
    spreads: Sequence[Spread] = (),
    targets: Sequence[Target] = (),
    paths: Sequence[Path] = (),
    people: Sequence[Person] = (),
    notes: Sequence[Note] = (),
    name: str = "court",
    scale: float | None = None,
) -> str:
    """The picture as SVG text, in metres of `domain.court`; `name` tells its ids apart from others on a page. A smaller
    `scale` (units a metre; the view's own if None) leaves its labels larger beside the court.

    The text alternative is the description and then every mark with its place in words.
    """
    marks: list[Mark] = [*spreads, *paths, *targets, *people]
    frame = Frame.around(view, [spot for mark in [*shares, *marks] for spot in mark.corners()], scale)
    lines = [box for a, b in shown_lines(frame) for box in along(frame.at(a), frame.at(b))]
    firm: list[Mark] = [*people, *targets]
    loose: list[Mark] = [*spreads, *paths]
    lines += [box for mark in loose for box in covers(mark, frame)]
    labels = Labels(frame.size, lines, [extent(mark, frame) for mark in firm])
    return picture(
        name,
        frame.size,
        title,
        " ".join([description, *map(_told_share, shares), *map(_told, marks)]).strip(),
        court_lines(frame),
        *(mark.drawn(frame) for mark in [*shares, *notes, *marks]),
        *(label_of(mark, frame, labels) for mark in [*firm, *loose]),
    )


def _told_share(share: Share) -> str:
    seen = "nothing seen" if share.share is None else share.figure
    return f"{share.told or share.text}: {', '.join(part for part in (seen, share.beneath) if part)}."


def _told(mark: Mark) -> str:
    if isinstance(mark, Path):
        start, end = (place_words(spot) for spot in (mark.spots[0], mark.spots[-1]))
        return f"{mark.text or 'way'}: from {start} to {end}."
    return f"{mark.text}: {place_words(mark.spot)}."
