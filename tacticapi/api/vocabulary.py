"""What can be seen and how it may be said, and what may be true of an opponent."""

from typing import Any

from flask import Response
from marshmallow import fields
from marshmallow.validate import OneOf

from tacticapi.api.http.blueprint import Blueprint
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import (
    Answer,
    a_chance,
    a_count,
    a_fact,
    a_list,
    a_number,
    a_text,
    a_word,
    an_object,
    texts,
)
from tacticapi.api.http.paging import PageQuery, listed, page_schema, paged
from tacticapi.domain.terms import Phase, Way
from tacticapi.domain.trait import WingRule

PLACES = ("observations", "context", "own", "opponent")
_PHASES = [str(phase) for phase in Phase]


class VocabularyQuery(PageQuery):
    """Which kinds are wanted."""

    subject = fields.String(metadata={"description": "The part of the id before the dot. Absent: all."})
    phase = fields.String(
        validate=OneOf(_PHASES, error=f"one of {', '.join(_PHASES)}"),
        metadata={"description": "Only what can be seen then. Absent: all."},
    )


class MeasureSchema(Answer):
    """What a kind says of a loaded sum of qualities."""

    loads = an_object(
        "The load of each quality, 1 if it counts in full; negative: less is better.",
        keys=fields.String(),
        values=fields.Float(),
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
    qualifiers = fields.Dict(
        keys=fields.String(),
        values=a_word(("optional", "required"), "Whether it must stand."),
        required=True,
        metadata={"description": "wing, court and serve, where the kind takes them."},
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
@vocabulary_blueprint.doc(operationId="listVocabulary")
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
@traits_blueprint.doc(operationId="listTraits")
def list_traits(query: dict[str, Any]) -> Response:
    """List the traits.

    In the order in which `beliefs` names them, each with the region of the profile in which it is true.
    """
    return paged(list(deployment().rulebook.traits.values()), query, lambda trait: trait.id, TraitSchema.written)
