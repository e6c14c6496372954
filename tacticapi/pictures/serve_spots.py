"""Where the opponent serves: the share of each third of each service box, as figures with the counts behind them."""

from collections.abc import Mapping

from tacticapi.domain.court import SERVICE_LINE_M
from tacticapi.pictures.court import court_picture
from tacticapi.pictures.court_marks import Note, Share
from tacticapi.pictures.court_view import View
from tacticapi.pictures.service_boxes import COURTS, SPOTS, middle, third

TITLE = "Where your opponent serves"
UNSEEN = "none seen"
HEADING_M = 0.55  # how far behind the service line a court is named


def serve_spots(counts: Mapping[str, Mapping[str, float]], name: str = "serves", title: str = TITLE) -> str:
    """The picture as SVG text. `counts` are serves by court (deuce, ad) and spot (wide, body, T); what is absent is 0.

    You stand below the boxes that the serves land in and look at the net. Raises ValueError without any serve.
    """
    if not any(sum(spots.values()) for spots in counts.values()):
        raise ValueError("no serve to draw")
    shares = [share for court in COURTS for share in _shares(court, counts.get(court, {}))]
    notes = [_heading(court, counts.get(court, {})) for court in COURTS]
    description = f"Shares of the serves into each of your service boxes. {'. '.join(note.text for note in notes)}."
    return court_picture(
        title=title, description=description, view=View.OWN_BOXES, shares=shares, notes=notes, name=name
    )


def _heading(court: str, spots: Mapping[str, float]) -> Note:
    place = middle(court, own_half=True), -SERVICE_LINE_M - HEADING_M
    seen = sum(spots.values())
    return Note(place, f"{court} court: {_count(seen)} serve{'' if seen == 1 else 's'}" if seen else _unseen(court))


def _unseen(court: str) -> str:
    return f"{court} court: {UNSEEN}"


def _shares(court: str, spots: Mapping[str, float]) -> list[Share]:
    seen, most = sum(spots.values()), max(spots.values(), default=0.0)
    return [
        Share(
            *third(court, spot, own_half=True),
            share=spots.get(spot, 0.0) / seen if seen else None,
            text=spot,
            beneath=f"{_count(spots.get(spot, 0.0))} of {_count(seen)}" if seen else "",
            main=bool(seen) and spots.get(spot, 0.0) == most,
            told=f"{court} court, {spot}",
        )
        for spot in SPOTS
    ]


def _count(count: float) -> str:
    return f"{count:.1f}".removesuffix(".0")
