"""The rulebook as a whole and who says so: which rules answer here, and their sources."""

from collections import Counter
from operator import itemgetter
from typing import Any

from flask import Response

from tacticapi.api.http.blueprint import Blueprint, answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import (
    Answer,
    a_count,
    a_fact,
    a_list,
    a_part,
    a_text,
    a_word,
    an_object,
    itself,
    texts,
)
from tacticapi.api.http.paging import PageQuery, page_schema, paged
from tacticapi.domain.rulebook import Category, Rulebook
from tacticapi.domain.terms import Moment


class CountsSchema(Answer):
    """How many there are of each."""

    kinds = a_count("Kinds of observations.", of=lambda rulebook: len(rulebook.kinds))
    traits = a_count("Traits.", of=lambda rulebook: len(rulebook.traits))
    tactics = a_count("Tactics.", of=lambda rulebook: len(rulebook.tactics))
    circumstances = a_count("Circumstances.", of=lambda rulebook: len(rulebook.circumstances))
    sources = a_count("Sources.", of=lambda rulebook: len(rulebook.sources))


class CategorySchema(Answer):
    """A group of tactics."""

    id = a_text("Id.", of=lambda counted: counted[0].id)
    title = a_text("Title.", of=lambda counted: counted[0].title)
    tactical = a_fact("False for what is no tactic: physical care, law.", of=lambda counted: counted[0].tactical)
    tactics = a_count("Tactics in it.", of=itemgetter(1))


class MomentSchema(Answer):
    """What a moment may show."""

    moment = a_word(Moment, "The moment.")
    limit = a_count("Most suggestions, unless the request sets its own limit.")
    reminders = texts("Categories whose reminders may be shown.")
    only_categories = a_fact("Whether these categories narrow everything, not just reminders.")


def _categories(rulebook: Rulebook) -> list[tuple[Category, int]]:
    """Return each category with the number of its tactics."""
    used = Counter(tactic.category for tactic in rulebook.tactics.values())
    return [(category, used[category.id]) for category in rulebook.categories.values()]


class RulebookSchema(Answer):
    """Which rules answer here."""

    version = a_text("Version of the rules.")
    digest = a_text("sha256 over all rules in canonical form, house rules included.")
    counts = a_part(CountsSchema, of=itself)
    categories = a_list(CategorySchema, "The categories.", of=_categories)
    moments = a_list(MomentSchema, "The moments.", of=lambda rulebook: rulebook.moments.values())
    defaults = an_object("Every number that the service assumes.")


class SourceSchema(Answer):
    """A publication that tactics cite."""

    key = a_text("Key; tactics cite it.")
    citation = a_text("The publication.")
    backs = a_text("What it backs.")
    status = a_text("How its content is known.")


SourcePage = page_schema(SourceSchema)


rulebook_blueprint = Blueprint("rulebook", "Which rules answer here.", of_the_rulebook=True)


@rulebook_blueprint.route("/v1/rulebook")
@rulebook_blueprint.response(200, RulebookSchema, description="The rulebook.")
def get_rulebook() -> Response:
    """Get version, digest, counts and defaults of the rulebook.

    The digest names exactly the rules that answer here; every advice carries it.
    """
    return answer(RulebookSchema.written(deployment().rulebook))


sources_blueprint = Blueprint("sources", "Who says so.", of_the_rulebook=True)


@sources_blueprint.route("/v1/sources")
@sources_blueprint.arguments(PageQuery, location="query")
@sources_blueprint.response(200, SourcePage, description="One page of sources.")
def list_sources(query: dict[str, Any]) -> Response:
    """List the sources.

    Each with what it backs and how its content is known. What no source backs is marked common practice.
    """
    return paged(list(deployment().rulebook.sources.values()), query, lambda source: source.key, SourceSchema.written)
