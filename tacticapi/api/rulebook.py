"""What the rules say: which rules answer here, their sources, what can be seen, what may be true of an opponent."""

from collections import Counter
from operator import itemgetter
from typing import Any

from flask import Response
from marshmallow import fields

from tacticapi.api.http import fields as wire
from tacticapi.api.http.blueprint import Blueprint, answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.paging import PageQuery, listed, page_schema, paged
from tacticapi.domain.rules import Category, Rulebook, WingRule
from tacticapi.domain.situation import Moment, Phase, Way


class CountsSchema(wire.Answer):
    """How many there are of each."""

    kinds = wire.a_count("Kinds of observations.", of=lambda rulebook: len(rulebook.kinds))
    traits = wire.a_count("Traits.", of=lambda rulebook: len(rulebook.traits))
    tactics = wire.a_count("Tactics.", of=lambda rulebook: len(rulebook.tactics))
    circumstances = wire.a_count("Circumstances.", of=lambda rulebook: len(rulebook.circumstances))
    sources = wire.a_count("Sources.", of=lambda rulebook: len(rulebook.sources))


class CategorySchema(wire.Answer):
    """A group of tactics."""

    id = wire.a_text("Id.", of=lambda counted: counted[0].id)
    title = wire.a_text("Title.", of=lambda counted: counted[0].title)
    tactical = wire.a_fact("False for what is no tactic: physical care, law.", of=lambda counted: counted[0].tactical)
    tactics = wire.a_count("Tactics in it.", of=itemgetter(1))


class MomentLimitsSchema(wire.Answer):
    """What a moment may show."""

    moment = wire.a_word(Moment, "The moment.")
    limit = wire.a_count("Most suggestions, unless the request sets its own limit.")
    reminders = wire.texts("Categories whose reminders may be shown.")
    only_categories = wire.a_fact("Whether these categories narrow everything, not just reminders.")


def _categories(rulebook: Rulebook) -> list[tuple[Category, int]]:
    used = Counter(tactic.category for tactic in rulebook.tactics.values())
    return [(category, used[category.id]) for category in rulebook.categories.values()]


class RulebookSchema(wire.Answer):
    """Which rules answer here."""

    version = wire.a_text("Version of the rules.")
    digest = wire.a_text("sha256 over all rules in canonical form, house rules included.")
    counts = wire.a_part(CountsSchema, of=wire.itself)
    categories = wire.a_list(CategorySchema, "The categories.", of=_categories)
    moments = wire.a_list(MomentLimitsSchema, "The moments.", of=lambda rulebook: rulebook.moments.values())
    defaults = wire.an_object("Every number that the service assumes.")


class SourceSchema(wire.Answer):
    """A publication that tactics cite."""

    key = wire.a_text("Key; tactics cite it.")
    citation = wire.a_text("The publication.")
    backs = wire.a_text("What it backs.")
    status = wire.a_text("How its content is known.")


SourcePage = page_schema(SourceSchema)
blueprint = Blueprint("rulebook", of_the_rulebook=True)


@blueprint.route("/v1/rulebook")
@blueprint.response(200, RulebookSchema, description="The rulebook.")
def get_rulebook() -> Response:
    """Get version, digest, counts and defaults of the rulebook.

    The digest names exactly the rules that answer here; every advice carries it.
    """
    return answer(RulebookSchema.written(deployment().rulebook))


@blueprint.route("/v1/sources")
@blueprint.arguments(PageQuery, location="query")
@blueprint.response(200, SourcePage, description="One page of sources.")
def list_sources(query: dict[str, Any]) -> Response:
    """List the sources.

    Each with what it backs and how its content is known. What no source backs is marked common practice.
    """
    return paged(list(deployment().rulebook.sources.values()), query, lambda source: source.key, SourceSchema.written)


PLACES = ("observations", "context", "own", "opponent")


class VocabularyQuery(PageQuery):
    """Which kinds are wanted."""

    subject = fields.String(metadata={"description": "The part of the id before the dot. Default: all."})
    phase = wire.a_choice(Phase, "Only what can be seen in this phase. Default: all.")


class MeasureSchema(wire.Answer):
    """What a kind says of a loaded sum of qualities."""

    qualities = wire.numbers("How much each quality counts, 1 in full; negative: less is better.", of="loads")
    usual = wire.numbers("The usual share by level; empty if it is not counted.")
    options = wire.texts("The options whose share it is.")
    words = wire.numbers("Steps from the usual player, as on the rating scale, by word.")
    serve = wire.a_text("Only on this serve.", absent=True)
    court = wire.a_text("Only in this court.", absent=True)


class KindSchema(wire.Answer):
    """One thing that can be seen."""

    id = wire.a_text("Id; never reused.")
    subject = wire.a_text("The part of the id before the dot.")
    post_in = wire.a_word(
        PLACES,
        "Where it is posted; in context, own and opponent by the part of the id after the dot.",
        of=lambda kind: kind.subject if kind.subject in PLACES else "observations",
    )
    title = wire.a_text("Title.")
    asks = wire.a_text("The question to the observer.")
    says = wire.a_text("The first words of a reason.")
    ways = wire.a_list(
        wire.a_word(Way, "A form it may be posted in."), "The forms it may be posted in; text goes into `value`."
    )
    phases = wire.a_list(wire.a_word(Phase, "A phase."), "When it can be seen.")
    options = wire.texts("The words for value and counts.")
    unit = wire.a_text("Unit of an amount.", absent=True)
    low = wire.a_number("Least amount.", absent=True)
    high = wire.a_number("Greatest amount.", absent=True)
    qualifiers = wire.an_object(
        "wing, court and serve, if the kind takes them.",
        keys=fields.String(),
        values=wire.a_word(("optional", "required"), "Whether it is required."),
    )
    trap = wire.a_text("A common mistake in seeing it.", absent=True)
    probe = wire.a_text("How to provoke it.", absent=True)
    starter = wire.a_count("Place in the starter set, 1 first.", absent=True)
    needs_end = wire.a_fact("Whether wind or sun spoils it unless it carries the end.")
    health = wire.a_fact("Whether it is about health.")
    measures = wire.a_list(MeasureSchema, "What it says about the profile.")
    same_as = wire.a_text("A kind under which the same balls may be posted; the fuller count is read.", absent=True)


KindPage = page_schema(KindSchema)


class RegionSchema(wire.Answer):
    """A region of the profile: a loaded sum between two quantiles of the players of a level."""

    of = wire.numbers("The load of each quality; id, or id/forehand, id/backhand, id/other.")
    low = wire.a_chance("The lower quantile.")
    high = wire.a_chance("The higher quantile.")
    outer = wire.a_fact("Whether it is true outside these quantiles, not between them.")


class TraitSchema(wire.Answer):
    """One thing that may be true of an opponent: a word for a region of the profile."""

    id = wire.a_text("Id; never reused.")
    title = wire.a_text("Title.")
    means = wire.a_text("What it means.")
    wing = wire.a_word(WingRule, "Whether it is one belief or one for each wing.")
    regions = wire.a_list(RegionSchema, "The regions in which it is true; all must hold. Model default.")
    favourite = wire.a_number("The share that one serve spot must take, instead of a region.", absent=True)
    not_from = wire.a_text("What it must not be inferred from.", absent=True)


TraitPage = page_schema(TraitSchema)


@blueprint.route("/v1/vocabulary")
@blueprint.arguments(VocabularyQuery, location="query")
@blueprint.response(200, KindPage, description="One page of kinds.")
def list_vocabulary(query: dict[str, Any]) -> Response:
    """List what can be observed.

    In vocabulary order. Each kind says where it is posted, in which ways it may be said, and which qualifiers it takes.
    """
    kinds = list(deployment().rulebook.kinds.values())
    subject, phase = listed(query, "subject", {kind.subject: None for kind in kinds}), query.get("phase")
    wanted = [k for k in kinds if subject in (None, k.subject) and (phase is None or phase in k.phases)]
    return paged(wanted, query, lambda kind: kind.id, KindSchema.written)


@blueprint.route("/v1/traits")
@blueprint.arguments(PageQuery, location="query")
@blueprint.response(200, TraitPage, description="One page of traits.")
def list_traits(query: dict[str, Any]) -> Response:
    """List the traits.

    In the order in which `beliefs` names them, each with the region of the profile in which it is true.
    """
    return paged(list(deployment().rulebook.traits.values()), query, lambda trait: trait.id, TraitSchema.written)
