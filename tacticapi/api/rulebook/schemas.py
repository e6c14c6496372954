"""The shape of the rulebook."""

from typing import Any

from marshmallow import fields

from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import a_list, a_text, a_word
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Moment


def a_count(says: str) -> fields.Integer:
    """How many there are."""
    return fields.Integer(required=True, metadata={"description": says})


class CountsSchema(Shape):
    """How many there are of each."""

    kinds = a_count("Kinds of observations.")
    traits = a_count("Traits.")
    tactics = a_count("Tactics.")
    circumstances = a_count("Circumstances.")
    sources = a_count("Sources.")


class CategorySchema(Shape):
    """A group of tactics."""

    id = a_text("Id.")
    title = a_text("Title.")
    tactical = fields.Boolean(
        required=True, metadata={"description": "False for what is no tactic: physical care, law."}
    )
    tactics = a_count("Tactics in it.")


class MomentSchema(Shape):
    """What a moment may show."""

    moment = a_word(Moment, "The moment.")
    limit = a_count("Most suggestions, unless the request sets its own limit.")
    reminders = a_list(fields.String(), "Categories whose reminders may be shown.")
    only_categories = fields.Boolean(
        required=True, metadata={"description": "Whether these categories narrow everything, not just reminders."}
    )


class RulebookSchema(Shape):
    """Which rules answer here."""

    version = a_text("Version of the rules.")
    digest = a_text("sha256 over all rules in canonical form, house rules included.")
    counts = fields.Nested(CountsSchema, required=True)
    categories = a_list(CategorySchema, "The categories.")
    moments = a_list(MomentSchema, "The moments.")
    defaults = fields.Dict(required=True, metadata={"description": "Every number that the service assumes."})


def rulebook_body(rulebook: Rulebook) -> dict[str, Any]:
    """The rulebook as it is served."""
    names = ("kinds", "traits", "tactics", "circumstances", "sources")
    used = [tactic.category for tactic in rulebook.tactics.values()]
    return {
        "version": rulebook.version,
        "digest": rulebook.digest,
        "counts": {name: len(getattr(rulebook, name)) for name in names},
        "categories": [
            {"id": c.id, "title": c.title, "tactical": c.tactical, "tactics": used.count(c.id)}
            for c in rulebook.categories.values()
        ],
        "moments": [
            {
                "moment": rule.moment.value,
                "limit": rule.limit,
                "reminders": list(rule.reminders),
                "only_categories": rule.only_categories,
            }
            for rule in rulebook.moments.values()
        ],
        "defaults": dict(rulebook.defaults),
    }
