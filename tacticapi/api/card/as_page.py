"""Card ▶ a page of A6 to print, whole in itself: it asks for nothing from outside and runs no script."""

from dataclasses import dataclass
from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from tacticapi.api.card.fitting import size_pt
from tacticapi.club.card import Card, CardLine
from tacticapi.domain.place import PlacedMark
from tacticapi.pictures import Person, Target, View, court_picture
from tacticapi.pictures.court import COURTS, aim

PICTURES_MM = 33.0  # height of the row of pictures with its captions
SAFETY_MM = 5.2  # border, padding and margins of the box of safety
BOX_SCALE, HALF_SCALE = 15.0, 9.0  # units a metre: small, so that labels stay readable on paper
NOTES = "Check the event's rules on notes before you take this to the court."
MODEL = "Common practice and model defaults, not measured results."
UNKNOWN, MARK = "not known yet, to be marked by hand", " (mark it)"
GENERAL = " (for everybody)"
NOBODY = "an opponent who was erased"


@dataclass(frozen=True, slots=True)
class Picture:
    """A small court with its caption."""

    caption: str
    drawn: Markup


def card_page(card: Card) -> str:
    """The page. Everything but our own pictures is escaped."""
    pictures = [*_serves(card), _stance(card)] if card.lines else []
    return _template().render(
        card=card,
        opponent=card.opponent or NOBODY,
        pictures=pictures,
        parts=_parts(card),
        changes=_changes(card),
        size=_size(card),
        notes=NOTES,
        model=MODEL,
        general=GENERAL,
    )


def _parts(card: Card) -> list[tuple[str, CardLine]]:
    """Every line to play by under the name of its part, in order."""
    named = [("Serve", card.serve), ("Return", card.receive), *(("Rally", line) for line in card.rally)]
    return [(name, line) for name, line in [*named, ("Pressure", card.pressure)] if line]


def _changes(card: Card) -> dict[str, str]:
    """When to look again at serve, return and the first rally rule."""
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


def _serves(card: Card) -> list[Picture]:
    return [_serve(court, card.targets.get(court)) for court in COURTS]


def _serve(court: str, spot: str | None) -> Picture:
    """The boxes with the target; without one where it is not known, to mark it by hand."""
    drawn = court_picture(
        title=f"Serve into the {court} court: {spot or UNKNOWN}",
        view=View.OPPONENT_BOXES,
        targets=[Target(aim(court, spot), spot)] if spot else [],
        name=f"serve-{court}",
        scale=BOX_SCALE,
    )
    return Picture(f"Serve, {court}{'' if spot else MARK}", Markup(drawn))  # pictures escape what they are given  # nosec B704


def _stance(card: Card) -> Picture:
    """Your half with the places to return from; without one where it is not known."""
    drawn = court_picture(
        title="Where to stand for the return" if card.stance else f"Where to stand for the return: {UNKNOWN}",
        view=View.OWN,
        people=[Person(one.at.spot(card.hands), one.text.removesuffix(" court")) for one in _stood(card)],
        name="return",
        scale=HALF_SCALE,
    )
    return Picture("Return from" if card.stance else f"Return{MARK}", Markup(drawn))  # the same  # nosec B704


def _stood(card: Card) -> tuple[PlacedMark, ...]:
    return card.stance.you if card.stance else ()


@lru_cache(maxsize=1)
def _template() -> Template:
    loader = PackageLoader("tacticapi.api.card")
    return Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    ).get_template("card.html")
