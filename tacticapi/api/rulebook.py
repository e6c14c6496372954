"""What the rules say: which rules answer here, their sources, what can be seen, what may be true of an opponent."""

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
    """How many there are of each."""

    kinds = wire.a_count("Kinds of observations.", of=lambda rulebook: len(rulebook.kinds))
    traits = wire.a_count("Traits.", of=lambda rulebook: len(rulebook.traits))
    tactics = wire.a_count("Tactics.", of=lambda rulebook: len(rulebook.tactics))
    circumstances = wire.a_count("Circumstances.", of=lambda rulebook: len(rulebook.circumstances))
    sources = wire.a_count("Sources.", of=lambda rulebook: len(rulebook.sources))


wire.shape_of(
    Category,
    id=wire.a_text("Id.", of="0.id"),
    title=wire.a_text("Title.", of="0.title"),
    tactical=wire.a_fact("False for what is no tactic: physical care, law.", of="0.tactical"),
    tactics=wire.a_count("Tactics in it.", of="1"),
)
LIMITS = wire.shape_of(MomentRule, "MomentLimits")


def _categories(rulebook: Rulebook) -> list[tuple[Category, int]]:
    used = Counter(tactic.category for tactic in rulebook.tactics.values())
    return [(category, used[category.id]) for category in rulebook.categories.values()]


class RulebookSchema(wire.Answer):
    """Which rules answer here."""

    version = wire.a_text("Version of the rules.")
    digest = wire.a_text("sha256 over all rules in canonical form, house rules included.")
    counts = wire.a_part(CountsSchema, of=wire.itself)
    categories = wire.a_list(wire.SHAPES[Category], "The categories.", of=_categories)
    moments = wire.a_list(LIMITS, "The moments.", of=lambda rulebook: rulebook.moments.values())
    defaults = wire.an_object("Every number that the service assumes.")


SourceSchema = wire.shape_of(Source)
blueprint = Blueprint("rulebook", of_the_rulebook=True)


@blueprint.route("/v1/rulebook")
@blueprint.response(200, RulebookSchema, description="The rulebook.")
def get_rulebook() -> Response:
    """Get version, digest, counts and defaults of the rulebook.

    The digest names exactly the rules that answer here; every advice carries it.
    """
    return answer(RulebookSchema.written(deployment().rulebook))


@blueprint.route("/v1/sources")
@blueprint.query(PageQuery)
@blueprint.response(200, page_schema(SourceSchema), description="One page of sources.")
def list_sources(query: dict[str, Any]) -> Response:
    """List the sources.

    Each with what it backs and how its content is known. What no source backs is marked common practice.
    """
    return paged(list(deployment().rulebook.sources.values()), query, lambda source: source.key, SourceSchema.written)


PLACES = ("observations", "context", "own", "opponent")


wire.shape_of(
    Measure,
    order="qualities",
    qualities=wire.an_object("How much each counts; minus: less is better.", fields.Float(), of="loads"),
)
KindSchema = wire.shape_of(
    ObservationKind,
    "Kind",
    order="id subject post_in title asks says ways phases options unit low high qualifiers",
    post_in=wire.a_word(
        PLACES,
        "Where it is posted; in context, own and opponent by the part of the id after the dot.",
        of=lambda kind: kind.subject if kind.subject in PLACES else "observations",
    ),
    qualifiers=wire.an_object(
        "wing, court and serve, if the kind takes them.",
        wire.a_word(("optional", "required"), "Whether it is required."),
    ),
)
TraitSchema = wire.shape_of(Trait)


@blueprint.route("/v1/vocabulary")
@blueprint.query(
    PageQuery,
    subject=fields.String(metadata={"description": "The part of the id before the dot. Default: all."}),
    phase=wire.a_choice(Phase, "Only what can be seen in this phase. Default: all."),
)
@blueprint.response(200, page_schema(KindSchema), description="One page of kinds.")
def list_vocabulary(query: dict[str, Any]) -> Response:
    """List what can be observed.

    In vocabulary order. Each kind says where it is posted, in which ways it may be said, and which qualifiers it takes.
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

    In the order in which `beliefs` names them, each with the region of the profile in which it is true.
    """
    return paged(list(deployment().rulebook.traits.values()), query, lambda trait: trait.id, TraitSchema.written)
