"""Routes of the rulebook: its version, the sources, the vocabulary of observations, and the traits of an opponent."""

from collections import Counter
from typing import Any

from flask import Response
from marshmallow import fields

from tacticapi.api.http import fields as wire
from tacticapi.api.http.blueprint import Blueprint, answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.paging import PageQuery, listed, page_schema, paged
from tacticapi.domain.rules import Category, Measure, MomentRule, ObservationKind, Rulebook, Source, Trait
from tacticapi.domain.situation import Phase


class CountsSchema(wire.Answer):
    """The number of entries of each kind."""

    kinds = wire.a_count("Number of kinds of observation.", of=lambda rulebook: len(rulebook.kinds))
    traits = wire.a_count("Number of traits.", of=lambda rulebook: len(rulebook.traits))
    tactics = wire.a_count("Number of tactics.", of=lambda rulebook: len(rulebook.tactics))
    circumstances = wire.a_count("Number of circumstances.", of=lambda rulebook: len(rulebook.circumstances))
    sources = wire.a_count("Number of sources.", of=lambda rulebook: len(rulebook.sources))


wire.shape_of(
    Category,
    id=wire.a_text("Id.", of="0.id"),
    title=wire.a_text("Title.", of="0.title"),
    tactical=wire.a_fact("False if its entries are not tactics, such as physical care and law.", of="0.tactical"),
    tactics=wire.a_count("Number of tactics in it.", of="1"),
)
LIMITS = wire.shape_of(MomentRule, "MomentLimits")


def _categories(rulebook: Rulebook) -> list[tuple[Category, int]]:
    used = Counter(tactic.category for tactic in rulebook.tactics.values())
    return [(category, used[category.id]) for category in rulebook.categories.values()]


class RulebookSchema(wire.Answer):
    """The rulebook in use."""

    version = wire.a_text("Version of the rules.")
    digest = wire.a_text("SHA-256 of all rules in canonical form, including house rules.")
    counts = wire.a_part(CountsSchema, of=wire.itself)
    categories = wire.a_list(wire.SHAPES[Category], "The categories.", of=_categories)
    moments = wire.a_list(LIMITS, "The moments.", of=lambda rulebook: rulebook.moments.values())
    defaults = wire.an_object("Every number that the service assumes by default.")


SourceSchema = wire.shape_of(Source)
blueprint = Blueprint("rulebook", of_the_rulebook=True)


@blueprint.route("/v1/rulebook")
@blueprint.response(200, RulebookSchema, description="The rulebook.")
def get_rulebook() -> Response:
    """Get the version, digest, counts and defaults of the rulebook.

    The digest identifies exactly the rules in use; all advice carries it.
    """
    return answer(RulebookSchema.written(deployment().rulebook))


@blueprint.route("/v1/sources")
@blueprint.query(PageQuery)
@blueprint.response(200, page_schema(SourceSchema), description="One page of sources.")
def list_sources(query: dict[str, Any]) -> Response:
    """List the sources.

    Each with what it backs and how its content is known. A rule without a source is marked common practice.
    """
    return paged(list(deployment().rulebook.sources.values()), query, lambda source: source.key, SourceSchema.written)


PLACES = ("observations", "context", "own", "opponent")


wire.shape_of(
    Measure,
    order="qualities",
    qualities=wire.an_object("Weight of each quality; negative if less is better.", fields.Float(), of="loads"),
)
KindSchema = wire.shape_of(
    ObservationKind,
    "Kind",
    order="id subject post_in title asks says ways phases options unit low high qualifiers",
    post_in=wire.a_word(
        PLACES,
        "Where to post it. In context, own and opponent, its name is the part of the id after the dot.",
        of=lambda kind: kind.subject if kind.subject in PLACES else "observations",
    ),
    qualifiers=wire.an_object(
        "The qualifiers that the kind takes: wing, court and serve.",
        wire.a_word(("optional", "required"), "Whether the qualifier is required."),
    ),
)
TraitSchema = wire.shape_of(Trait)


@blueprint.route("/v1/vocabulary")
@blueprint.query(
    PageQuery,
    subject=fields.String(metadata={"description": "Only this subject: the id up to its dot. Default: all."}),
    phase=wire.a_choice(Phase, "Only what can be seen in this phase. Default: all."),
)
@blueprint.response(200, page_schema(KindSchema), description="One page of kinds.")
def list_vocabulary(query: dict[str, Any]) -> Response:
    """List the kinds of observation.

    In vocabulary order. Each kind states where to post it, in which forms, and with which qualifiers.
    """
    kinds = list(deployment().rulebook.kinds.values())
    subject, phase = listed(query, "subject", {kind.subject: None for kind in kinds}), query.get("phase")
    wanted = [k for k in kinds if subject in (None, k.subject) and (phase is None or phase in k.phases)]
    return paged(wanted, query, lambda kind: kind.id, KindSchema.written)


@blueprint.route("/v1/traits")
@blueprint.query(PageQuery)
@blueprint.response(200, page_schema(TraitSchema), description="One page of traits.")
def list_traits(query: dict[str, Any]) -> Response:
    """List the traits.

    In the order of `beliefs`, each with the region of the profile in which it is true.
    """
    return paged(list(deployment().rulebook.traits.values()), query, lambda trait: trait.id, TraitSchema.written)
