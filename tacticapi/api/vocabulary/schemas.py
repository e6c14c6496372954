"""The shape of the vocabulary."""

from typing import Any

from marshmallow import fields
from marshmallow.validate import OneOf

from tacticapi.api.paging import PageQuery, page_schema
from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import a_list, a_number, a_text, a_word
from tacticapi.domain.terms import Phase, Way
from tacticapi.domain.vocabulary import ObservationKind

PLACES = ("observations", "context", "own", "opponent")
_PHASES = [str(phase) for phase in Phase]


class VocabularyQuery(PageQuery):
    """Which kinds are wanted."""

    subject = fields.String(metadata={"description": "The part of the id before the dot. Absent: all."})
    phase = fields.String(
        validate=OneOf(_PHASES, error=f"one of {', '.join(_PHASES)}"),
        metadata={"description": "Only what can be seen then. Absent: all."},
    )


class KindSchema(Shape):
    """One thing that can be seen."""

    id = a_text("Id; never used again for anything else.")
    subject = a_text("The part of the id before the dot.")
    post_in = a_word(PLACES, "Where it is posted; in context, own and opponent by the part of the id after the dot.")
    title = a_text("Title.")
    asks = a_text("The question to an onlooker.")
    says = a_text("How a reason begins.")
    ways = a_list(a_word(Way, "A way of saying it."), "The ways of saying it; the text way is posted as `value`.")
    phases = a_list(a_word(Phase, "A phase."), "When it can be seen.")
    options = a_list(fields.String(), "The words for value and counts.")
    unit = a_text("Unit of an amount.", null=True)
    low = a_number("Least amount.", null=True)
    high = a_number("Greatest amount.", null=True)
    qualifiers = fields.Dict(
        keys=fields.String(),
        values=a_word(("optional", "required"), "Whether it must stand."),
        required=True,
        metadata={"description": "wing, court and serve, where the kind takes them."},
    )
    trap = a_text("What goes wrong in seeing it.", null=True)
    probe = a_text("How to get to see it.", null=True)
    starter = fields.Integer(
        required=True, allow_none=True, metadata={"description": "Place in the starter set, 1 first."}
    )
    needs_end = fields.Boolean(
        required=True, metadata={"description": "Whether wind or sun spoils it unless it carries the end."}
    )
    health = fields.Boolean(required=True, metadata={"description": "Whether it is about health."})
    ages = fields.Boolean(required=True, metadata={"description": "Whether it weighs less as games go by."})


KindPage = page_schema(KindSchema)


def kind_body(kind: ObservationKind) -> dict[str, Any]:
    """One kind as it is served."""
    return {
        "id": kind.id,
        "subject": kind.subject,
        "post_in": kind.subject if kind.subject in PLACES else "observations",
        "title": kind.title,
        "asks": kind.asks,
        "says": kind.says,
        "ways": [way.value for way in kind.ways],
        "phases": [phase.value for phase in kind.phases],
        "options": list(kind.options),
        "unit": kind.unit,
        "low": kind.low,
        "high": kind.high,
        "qualifiers": dict(kind.qualifiers),
        "trap": kind.trap,
        "probe": kind.probe,
        "starter": kind.starter,
        "needs_end": kind.needs_end,
        "health": kind.health,
        "ages": kind.ages,
    }
