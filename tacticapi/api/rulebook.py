"""The rulebook as a whole and who says so: which rules answer here, and their sources."""

from typing import Any

from flask import Response
from marshmallow import fields

from tacticapi.api.http.blueprint import Blueprint, answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import Shape, a_list, a_text, a_word
from tacticapi.api.http.paging import PageQuery, page_schema, paged
from tacticapi.domain.rulebook import Rulebook, Source
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


class SourceSchema(Shape):
    """A publication that tactics cite."""

    key = a_text("Key; tactics cite it.")
    citation = a_text("The publication.")
    backs = a_text("What it backs.")
    status = a_text("How its content is known.")


SourcePage = page_schema(SourceSchema)


def source_entry(source: Source) -> dict[str, Any]:
    """One source as it is served."""
    return {"key": source.key, "citation": source.citation, "backs": source.backs, "status": source.status}


rulebook_blueprint = Blueprint("rulebook", "Which rules answer here.", of_the_rulebook=True)


@rulebook_blueprint.route("/v1/rulebook")
@rulebook_blueprint.response(200, RulebookSchema, description="The rulebook.")
@rulebook_blueprint.doc(operationId="getRulebook")
def get_rulebook() -> Response:
    """Get version, digest, counts and defaults of the rulebook.

    The digest names exactly the rules that answer here; every advice carries it.
    """
    return answer(rulebook_body(deployment().rulebook))


sources_blueprint = Blueprint("sources", "Who says so.", of_the_rulebook=True)


@sources_blueprint.route("/v1/sources")
@sources_blueprint.arguments(PageQuery, location="query")
@sources_blueprint.response(200, SourcePage, description="One page of sources.")
@sources_blueprint.doc(operationId="listSources")
def list_sources(query: dict[str, Any]) -> Response:
    """List the sources.

    Each with what it backs and how its content is known. What no source backs is marked common practice.
    """
    return paged(list(deployment().rulebook.sources.values()), query, lambda source: source.key, source_entry)
