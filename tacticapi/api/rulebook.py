"""Routes for the rulebook: version, sources, vocabulary, traits and tactics, and pictures of tactics on court."""

from collections import Counter
from collections.abc import Iterable
from typing import Any

from flask import Response
from marshmallow import fields

from tacticapi.advice.explain import price_lines
from tacticapi.advice.suggestions import place_of, unnamed
from tacticapi.advice.words import condition_words, source_lines
from tacticapi.api.advice import DRAWN_HANDS, SourceLineSchema
from tacticapi.api.http import fields as wire
from tacticapi.api.http.blueprint import SVG, Blueprint, answer, offers, picture_answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.paging import PageQuery, listed, page_schema, paged
from tacticapi.api.http.problems import refuse
from tacticapi.domain import rules
from tacticapi.domain.court import Hands
from tacticapi.domain.rules import Category, Condition, ObservationKind, Rulebook, Tactic
from tacticapi.domain.situation import Phase, Wing
from tacticapi.pictures.court import tactic_picture


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
    tactics=wire.a_count("Number of tactics in the category.", of="1"),
)
LIMITS = wire.shape_of(rules.MomentRule, "MomentLimits")


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


SourceSchema = wire.shape_of(rules.Source)
blueprint = Blueprint("rulebook", of_the_rulebook=True)


@blueprint.route("/v1/rulebook")
@blueprint.response(200, RulebookSchema, description="The rulebook.")
def get_rulebook() -> Response:
    """Get the rulebook's version, digest, counts and defaults.

    The digest identifies the exact rules in use; all advice includes it.
    """
    return answer(RulebookSchema.written(deployment().rulebook))


@blueprint.route("/v1/sources")
@blueprint.query(PageQuery)
@blueprint.response(200, page_schema(SourceSchema), description="One page of sources.")
def list_sources(query: dict[str, Any]) -> Response:
    """List the sources.

    Each source comes with what it backs and how closely we read it. A rule without a source is marked common practice.
    """
    return paged(list(deployment().rulebook.sources.values()), query, lambda source: source.key, SourceSchema.written)


PLACES = ("observations", "context", "own", "opponent")


wire.shape_of(
    rules.Measure,
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
TraitSchema = wire.shape_of(rules.Trait)


@blueprint.route("/v1/vocabulary")
@blueprint.query(
    PageQuery,
    subject=fields.String(metadata={"description": "Only this subject: the id up to its dot. Default: all."}),
    phase=wire.a_choice(Phase, "Only what can be seen in this phase. Default: all."),
)
@blueprint.response(200, page_schema(KindSchema), description="One page of kinds.")
def list_vocabulary(query: dict[str, Any]) -> Response:
    """List the kinds of observation.

    Kinds are listed in vocabulary order. Each says where to post it, in which forms, and with which qualifiers.
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

    Traits are listed in the order of `beliefs`, each with the region of the profile in which it is true.
    """
    return paged(list(deployment().rulebook.traits.values()), query, lambda trait: trait.id, TraitSchema.written)


IN_WORDS = wire.texts("The conditions in words.")
AlternativeSchema = wire.shape_of(
    rules.Alternative,
    all=wire.texts("The conditions in words; empty if it always applies."),
    say=wire.a_text("Replaces the tactic's own line.", absent=True, of=lambda one: one.say and unnamed(one.say)),
)
CounterSchema = wire.shape_of(rules.Counter, order="all why", all=IN_WORDS)
wire.shape_of(rules.Gate, any_of=wire.texts("Your own abilities; any one is enough.", of="keys"), order="any_of")
wire.shape_of(rules.Sent, order="ball wing")
TacticSchema = wire.shape_of(
    Tactic,
    order="id category title say why when needs unless not_if stop_when show risk price terms order authority "
    "relations sources",
    say=wire.a_text("What to say on court if no wing is known.", of=lambda one: unnamed(one.say)),
    terms=wire.texts("The price in words, term by term."),
    sources=wire.a_list(SourceLineSchema, "The sources behind it."),
)


def tactic_body(tactic: Tactic, rulebook: Rulebook) -> dict[str, Any]:
    """Return a tactic as JSON, with its conditions in words."""

    def words(conditions: Iterable[Condition]) -> list[str]:
        return [condition_words(condition, rulebook) for condition in conditions]

    return TacticSchema.written(
        tactic,
        when=[AlternativeSchema.written(each, all=words(each.conditions)) for each in tactic.when],
        unless=[CounterSchema.written(each, all=words(each.conditions)) for each in tactic.unless],
        terms=price_lines(tactic, rulebook),
        sources=[SourceLineSchema.written(line) for line in source_lines(tactic, rulebook)],
    )


def statuses(tactic: Tactic, rulebook: Rulebook) -> set[str]:
    """Return the statuses of the tactic's sources, or common practice."""
    return {line.status for line in source_lines(tactic, rulebook)}


@blueprint.route("/v1/tactics")
@blueprint.query(
    PageQuery,
    category=fields.String(metadata={"description": "Only this category, by its id in /v1/rulebook. Default: all."}),
    status=fields.String(metadata={"description": "Only this source status, or common practice. Default: all."}),
    risk=wire.a_choice(rules.RISKS, "Only this risk. Default: all."),
)
@blueprint.response(200, page_schema(TacticSchema), description="One page of tactics.")
def list_tactics(query: dict[str, Any]) -> Response:
    """List the tactics.

    Tactics are listed by category, in rulebook order, each with its conditions and price in words, and its sources.
    """
    rulebook = deployment().rulebook
    known = {status for tactic in rulebook.tactics.values() for status in statuses(tactic, rulebook)}
    category = listed(query, "category", rulebook.categories)
    status, risk = listed(query, "status", sorted(known)), query.get("risk")
    wanted = [
        tactic
        for tactic in rulebook.tactics.values()
        if category in (None, tactic.category)
        and risk in (None, tactic.risk)
        and (status is None or status in statuses(tactic, rulebook))
    ]
    return paged(wanted, query, lambda tactic: tactic.id, lambda tactic: tactic_body(tactic, rulebook))


@blueprint.route("/v1/tactics/<tactic_id>")
@blueprint.response(200, TacticSchema, description="The tactic.")
def get_tactic(tactic_id: str) -> Response:
    """Get one tactic.

    A retired tactic is still served, with its replacement.
    """
    return answer(tactic_body(_known(tactic_id), deployment().rulebook))


@blueprint.route("/v1/tactics/<tactic_id>/picture")
@blueprint.query(
    own=wire.a_choice(DRAWN_HANDS, "Your playing hand. Default: right."),
    opponent=wire.a_choice(DRAWN_HANDS, "Your opponent's playing hand. Default: right."),
    wing=wire.a_choice(Wing, "The wing to aim at, if the tactic aims at one. Default: backhand."),
)
@blueprint.response(200, description="The court, with a title and a text alternative.")
@offers(SVG)
def draw_tactic(query: dict[str, Any], tactic_id: str) -> Response:
    """Draw where a tactic happens on the court.

    The picture shows targets, positions, and the paths of ball and players, for these hands and, if the tactic aims at
    a wing, for that wing. Places are model defaults, not measured. A tactic with no place on the court gets 404.
    """
    tactic, wing = _known(tactic_id), query.get("wing")
    hands = Hands(query.get("own"), query.get("opponent"), Wing(wing) if wing else None)
    place = place_of(tactic_id, hands, deployment().rulebook)
    if place is None:
        refuse("not-found", "this tactic has no place on the court")
    return picture_answer(tactic_picture(place, hands, title=tactic.title))


def _known(tactic_id: str) -> Tactic:
    return deployment().rulebook.tactics.get(tactic_id) or refuse("not-found", "there is no tactic with this id")
