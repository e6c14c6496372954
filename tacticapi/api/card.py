"""The printable plan card: one self-contained A6 page."""

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Any

from flask import Response
from markupsafe import Markup

from tacticapi.api.http.access import here
from tacticapi.api.http.blueprint import HTML, IF_NONE_MATCH, KeptBlueprint, html_answer, offers, template
from tacticapi.api.http.conditional import polled, rules_tag_of
from tacticapi.api.http.fields import a_choice
from tacticapi.club import matches
from tacticapi.club.card import Card, CardLine, plan_card
from tacticapi.domain.situation import Moment
from tacticapi.pictures.court import COURTS, aim, court_picture, place_words
from tacticapi.pictures.court_marks import Person, Target, View
from tacticapi.web import STATIC

SIZES_PT = (10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0, 5.75, 5.5, 5.25, 5.0)
MM_A_PT = 25.4 / 72
WIDTH_MM, HEIGHT_MM = 97.0, 137.0  # inside the margins, with 3 mm of height to spare: typefaces differ
LETTER = 0.56  # average letter width of the widest common typeface, in text heights
LEADING, BETWEEN = 1.25, 0.3  # line height and paragraph spacing, in text heights
FRAME = 4.5  # title, headings and rules together, in text heights


def size_pt(paragraphs: Sequence[str], fixed_mm: float) -> float:
    """Return the largest size at which the paragraphs and a fixed height (mm) fit the page, else the smallest."""
    return next((size for size in SIZES_PT if height_mm(paragraphs, size) + fixed_mm <= HEIGHT_MM), SIZES_PT[-1])


def height_mm(paragraphs: Sequence[str], size: float) -> float:
    """Return the approximate height of these paragraphs at this size, in mm, without pictures and frames."""
    letters = int(WIDTH_MM / (LETTER * size * MM_A_PT))
    lines = sum(len(wrap(text, letters)) for text in paragraphs)
    return size * MM_A_PT * (LEADING * lines + BETWEEN * len(paragraphs) + FRAME)


PICTURES_MM = 33.0  # height of the row of pictures with captions
SAFETY_MM = 5.2  # border, padding and margins of the safety box
BOX_SCALE, HALF_SCALE = 12.0, 7.0  # units per metre, small so that labels stay readable on paper
NOTES = "Check the event's rules on notes before you take this to the court."
MODEL = "Common practice and model defaults, not measured results."
UNKNOWN, MARK = "not known yet; mark it by hand", " (mark it)"
GENERAL = " (for everybody)"
NOBODY = "an opponent who was erased"


@dataclass(frozen=True, slots=True)
class Picture:
    """A small court with its caption."""

    caption: str
    drawn: Markup


def card_page(card: Card) -> str:
    """Return the page. Everything except our own pictures is escaped."""
    serves = (_serve(court, card.targets.get(court)) for court in COURTS)
    pictures = [*serves, _stance(card)] if card.lines else []
    return template("card.html").render(
        card=card,
        opponent=card.opponent or NOBODY,
        pictures=pictures,
        parts=_parts(card),
        changes=_changes(card),
        size=_size(card),
        notes=NOTES,
        model=MODEL,
        general=GENERAL,
        style=Markup((STATIC / "paper.css").read_text(encoding="utf-8")),  # our own file  # nosec B704
    )


def _parts(card: Card) -> list[tuple[str, CardLine]]:
    named = [("Serve", card.serve), ("Return", card.receive), *(("Rally", line) for line in card.rally)]
    return [(name, line) for name, line in [*named, ("Pressure", card.pressure)] if line]


def _changes(card: Card) -> dict[str, str]:
    firsts: dict[str, str] = {}
    for name, line in _parts(card):
        if line is not card.pressure:
            firsts.setdefault(name, line.look_again)
    return firsts


def _size(card: Card) -> float:
    texts = [text for line in card.safety for text in (line.say, line.caution) if text]
    texts += [f"{name}. {line.say}{GENERAL * line.general}" for name, line in _parts(card)]
    texts += [f"{name}: {text}" for name, text in _changes(card).items()]
    fixed = PICTURES_MM * bool(card.lines) + SAFETY_MM * bool(card.safety)
    return size_pt([*texts, *card.cautions, f"{NOTES} {MODEL}"], fixed)


def _serve(court: str, spot: str | None) -> Picture:
    """Return a picture of the service boxes with the target; an unknown target is left to be marked by hand."""
    drawn = court_picture(
        title=f"Serve into the {court} court: {spot or UNKNOWN}",
        view=View.OPPONENT_BOXES,
        targets=[Target(aim(court, spot), spot)] if spot else [],
        name=f"serve-{court}",
        scale=BOX_SCALE,
    )
    return Picture(f"Serve, {court}{'' if spot else MARK}", Markup(drawn))  # pictures escape their text  # nosec B704


def _stance(card: Card) -> Picture:
    """Return a picture of your side of the court, with the places to return from if they are known."""
    you = [(one.at.spot(card.hands), one.text) for one in card.stance.you] if card.stance else []
    where = "; ".join(f"{text}: {place_words(spot)}" for spot, text in you) or UNKNOWN
    drawn = court_picture(
        title=f"Where to stand for the return: {where}",
        view=View.OWN,
        people=[Person(spot, "") for spot, _ in you],  # the deuce court is to the right, so no word is needed
        name="return",
        scale=HALF_SCALE,
    )
    return Picture("Return from" if card.stance else f"Return{MARK}", Markup(drawn))  # the same  # nosec B704


blueprint = KeptBlueprint("card")


@blueprint.get("/v1/matches/<id:match_id>/card", scope="advise", reads=IF_NONE_MATCH, conflict=True)
@blueprint.query(moment=a_choice(Moment, "Moment of the request; permissions depend on it.", default="before-match"))
@blueprint.response(200, description="The card, one A6 page to print.")
@offers(HTML)
def get_card(query: dict[str, Any], match_id: str) -> Response:
    """Get a plan card: one A6 page to print, for events that do not allow devices.

    The card shows two serve targets and a return position as small courts, two rally rules, one rule for pressure, when
    to change, and cautions. Safety comes first and, if necessary, replaces the plan; health items appear only as safety
    lines. The ranking is the same as in /suggestions, by default before the match; no advice is stored. Refused (403)
    if the event does not permit advice at that moment. It reminds readers to check the event's rules on notes.
    """
    services, club = here()
    revision = matches.revision(services, club, match_id)
    tag = rules_tag_of("card", revision, query["moment"])

    def page() -> Response:
        return html_answer(card_page(plan_card(services, club, match_id, Moment(query["moment"]))))

    return polled(tag, page)
