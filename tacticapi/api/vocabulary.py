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
    texts,
)
from tacticapi.api.http.paging import PageQuery, listed, page_schema, paged
from tacticapi.domain.terms import Phase, Way
from tacticapi.domain.trait import TermForm, WingRule

PLACES = ("observations", "context", "own", "opponent")
_PHASES = [str(phase) for phase in Phase]


class VocabularyQuery(PageQuery):
    """Which kinds are wanted."""

    subject = fields.String(metadata={"description": "The part of the id before the dot. Absent: all."})
    phase = fields.String(
        validate=OneOf(_PHASES, error=f"one of {', '.join(_PHASES)}"),
        metadata={"description": "Only what can be seen then. Absent: all."},
    )


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
    ages = a_fact("Whether it weighs less as games go by.")


KindPage = page_schema(KindSchema)


class EvidenceSchema(Answer):
    """One kind of observation that speaks for or against a trait."""

    what = a_text("Id of the vocabulary.")
    form = a_word(TermForm, "How it is read: shares of a count, a table of levels, a favourite, or one end's share.")
    word = a_text("How much it can move: slight, weak, moderate or strong.")
    wing = a_text("Whose wing must stand on the observation: same, other, forehand or backhand; null: any.", null=True)
    serve = a_text("Only on this serve.", null=True)
    court = a_text("Only in this court.", null=True)
    moves = a_text("The one wing whose belief it moves; null: that of the trait.", null=True)


class TraitSchema(Answer):
    """One thing that may be true of an opponent."""

    id = a_text("Id; never used again for anything else.")
    title = a_text("Title.")
    means = a_text("What it means.")
    wing = a_word(WingRule, "Whether it is one belief or one for each wing.")
    prior = a_chance("How likely it is before anything is seen; a model default.")
    excludes = a_text("The group of traits of which at most one can hold.", null=True)
    not_from = a_text("What it must not be inferred from.", null=True)
    evidence = a_list(EvidenceSchema, "What speaks for or against it.", of="terms")


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

    In the order in which `beliefs` names them, each with its prior and what speaks for or against it.
    """
    return paged(list(deployment().rulebook.traits.values()), query, lambda trait: trait.id, TraitSchema.written)
