"""Debrief ▶ a page to read and to print, whole in itself: it asks for nothing from outside and runs no script."""

from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from tacticapi.api.debrief import words
from tacticapi.api.debrief.drawn import drawn_story, drawn_surprises
from tacticapi.club.debrief import Debrief
from tacticapi.pictures import percent

POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


def debrief_page(told: Debrief) -> str:
    """The page. Everything but our own pictures is escaped."""
    story, surprises = drawn_story(told), drawn_surprises(told)
    return _template().render(
        told=told,
        words=words,
        percent=percent,
        story=Markup(story) if story else None,  # pictures escape what they are given  # nosec B704
        surprises=Markup(surprises) if surprises else None,  # the same  # nosec B704
    )


@lru_cache(maxsize=1)
def _template() -> Template:
    loader = PackageLoader("tacticapi.api.debrief")
    return Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    ).get_template("debrief.html")
