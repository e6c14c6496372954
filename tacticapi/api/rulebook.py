"""What the rules say: which rules answer here, their sources, what can be seen, what may be true of an opponent."""

from collections import Counter
from operator import itemgetter
from typing import Any

from flask import Response
from marshmallow import fields

from tacticapi.api.http.blueprint import Blueprint, answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import (
    Answer,
    a_chance,
    a_choice,
    a_count,
    a_fact,
    a_list,
    a_number,
    a_part,
    a_text,
    a_word,
    an_object,
    itself,
    texts,
)
from tacticapi.api.http.paging import PageQuery, listed, page_schema, paged
from tacticapi.domain.rules import Category, Rulebook, WingRule
from tacticapi.domain.situation import Moment, Phase, Way


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


PLACES = ("observations", "context", "own", "opponent")


class VocabularyQuery(PageQuery):
    """Which kinds are wanted."""

    subject = fields.String(metadata={"description": "The part of the id before the dot. Absent: all."})
    phase = a_choice(Phase, "Only what can be seen then. Absent: all.")


class MeasureSchema(Answer):
    """What a kind says of a loaded sum of qualities."""

    qualities = an_object(
        "How much each quality counts, 1 in full; negative: less is better.",
        keys=fields.String(),
        values=fields.Float(),
        of="loads",
    )
    usual = an_object(
        "The usual share by level; empty if it is not counted.", keys=fields.String(), values=fields.Float()
    )
    options = texts("The options whose share it is.")
    words = an_object(
        "Steps from the usual player, as on the rating scale, by word.", keys=fields.String(), values=fields.Float()
    )
    serve = a_text("Only on this serve.", null=True)
    court = a_text("Only in this court.", null=True)


class KindSchema(Answer):
    """One thing that can be seen."""

    id = a_text("Id; never used again for anything else.")
    subject = a_text("The part of the id before the dot.")
    post_in = a_word(
        PLACES,
        "Where it is posted; in context, own and opponent by the part of the id after the dot.",
        of=lambda kind: kind.subject if kind.subject in PLACES else "observations",
    )
    title = a_text("Title.")
    asks = a_text("The question to an onlooker.")
    says = a_text("How a reason begins.")
    ways = a_list(a_word(Way, "A way of saying it."), "The ways of saying it; the text way is posted as `value`.")
    phases = a_list(a_word(Phase, "A phase."), "When it can be seen.")
    options = texts("The words for value and counts.")
    unit = a_text("Unit of an amount.", null=True)
    low = a_number("Least amount.", null=True)
    high = a_number("Greatest amount.", null=True)
    qualifiers = an_object(
        "wing, court and serve, where the kind takes them.",
        keys=fields.String(),
        values=a_word(("optional", "required"), "Whether it must stand."),
    )
    trap = a_text("What goes wrong in seeing it.", null=True)
    probe = a_text("How to get to see it.", null=True)
    starter = a_count("Place in the starter set, 1 first.", null=True)
    needs_end = a_fact("Whether wind or sun spoils it unless it carries the end.")
    health = a_fact("Whether it is about health.")
    measures = a_list(MeasureSchema, "What it says of the profile.")
    same_as = a_text("A kind under which the same balls may be posted; the fuller count is read.", null=True)


KindPage = page_schema(KindSchema)


class RegionSchema(Answer):
    """A region of the profile: a loaded sum between two quantiles of the players of a level."""

    of = an_object(
        "The load of each quality; id, or id/forehand, id/backhand, id/other.",
        keys=fields.String(),
        values=fields.Float(),
    )
    low = a_chance("The lower quantile.")
    high = a_chance("The higher quantile.")
    outer = a_fact("Whether it is true outside these quantiles, not between them.")


class TraitSchema(Answer):
    """One thing that may be true of an opponent: a word for a region of the profile."""

    id = a_text("Id; never used again for anything else.")
    title = a_text("Title.")
    means = a_text("What it means.")
    wing = a_word(WingRule, "Whether it is one belief or one for each wing.")
    regions = a_list(RegionSchema, "Where it is true; all of them are needed. Model default.")
    favourite = a_number("The share that one serve spot must take, instead of a region.", null=True)
    not_from = a_text("What it must not be inferred from.", null=True)


TraitPage = page_schema(TraitSchema)


vocabulary_blueprint = Blueprint("vocabulary", "What can be seen, and how it may be said.", of_the_rulebook=True)


@vocabulary_blueprint.route("/v1/vocabulary")
@vocabulary_blueprint.arguments(VocabularyQuery, location="query")
@vocabulary_blueprint.response(200, KindPage, description="One page of kinds.")
def list_vocabulary(query: dict[str, Any]) -> Response:
    """List what can be observed.

    In vocabulary order. Each kind says where it is posted, in which ways it may be said, and which qualifiers it takes.
    """
    kinds = list(deployment().rulebook.kinds.values())
    subject, phase = listed(query, "subject", {kind.subject: None for kind in kinds}), query.get("phase")
    wanted = [k for k in kinds if subject in (None, k.subject) and (phase is None or phase in k.phases)]
    return paged(wanted, query, lambda kind: kind.id, KindSchema.written)


traits_blueprint = Blueprint("traits", "What may be true of an opponent.", of_the_rulebook=True)


@traits_blueprint.route("/v1/traits")
@traits_blueprint.arguments(PageQuery, location="query")
@traits_blueprint.response(200, TraitPage, description="One page of traits.")
def list_traits(query: dict[str, Any]) -> Response:
    """List the traits.

    In the order in which `beliefs` names them, each with the region of the profile in which it is true.
    """
    return paged(list(deployment().rulebook.traits.values()), query, lambda trait: trait.id, TraitSchema.written)
