"""The tactics of the rulebook, and where each happens on the court."""

from collections.abc import Iterable
from typing import Any

from flask import Response
from marshmallow import fields

from tacticapi.advice.price_words import price_lines
from tacticapi.advice.slots import unnamed
from tacticapi.advice.suggestions import place_of
from tacticapi.advice.words import condition_words, source_lines
from tacticapi.api.http import fields as wire
from tacticapi.api.http.blueprint import SVG, Blueprint, answer, offers, picture_answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.paging import PageQuery, listed, page_schema, paged
from tacticapi.api.http.problems import NOT_FOUND, refuse
from tacticapi.api.suggestions import DRAWN_HANDS, SourceLineSchema
from tacticapi.domain.court import Hands
from tacticapi.domain.rules import Aim, Condition, RelationKind, Rulebook, Tactic, Touches
from tacticapi.domain.situation import Moment, Show, Wing
from tacticapi.pictures.court import tactic_picture

RISKS = ("low", "medium", "high")


class TacticsQuery(PageQuery):
    """Which tactics are wanted."""

    category = fields.String(metadata={"description": "Id of a category, see /v1/rulebook. Absent: all."})
    status = fields.String(
        metadata={"description": "Only tactics with a source of this status, or common practice. Absent: all."}
    )
    risk = wire.a_choice(RISKS, "Absent: all.")


class AlternativeSchema(wire.Answer):
    """Conditions that must all hold."""

    all = wire.texts("The conditions in words; none means always.")
    say = wire.a_text("Replaces the line of the tactic.", absent=True, of=lambda one: one.say and unnamed(one.say))


class GateSchema(wire.Answer):
    """An own ability that the tactic needs."""

    any_of = wire.texts("Names of own abilities; one of them suffices.", of="keys")
    at_least = wire.a_count("The rating that it takes, 0 to 4.")


class CounterSchema(wire.Answer):
    """A counter-indication that the service checks itself."""

    all = wire.texts("The conditions in words.")
    why = wire.a_text("Why not, then.")


class SentSchema(wire.Answer):
    """Balls that it sends, and what they replace."""

    ball = wire.a_text("Id of the ball.")
    wing = wire.a_word(Aim, "The wing that it is sent to; aimed: that of the weakness.")
    per_point = wire.a_number("How many a tried point.")
    instead_of = wire.a_text("Id of the ball, or of the mix of balls, that it replaces.")


class PriceSchema(wire.Answer):
    """Price of a tactic: the balls sent and the balls replaced. All numbers are model defaults."""

    points = wire.a_word(Touches, "The points in which it is tried.")
    share = wire.a_number("The part of all points in which it is tried.")
    sends = wire.a_list(SentSchema, "Balls a tried point.")
    own = wire.numbers("Balls of our own strokes a tried point, more or fewer than usual, by ability.")
    gives = wire.numbers("What their qualities give a tried point, in balls, by quality.")
    moves = wire.numbers("Changes of our own serve shares on a tried point.")
    spot = wire.a_number("Points a tried return for each unit of share by which their favourite spot leads.")
    costs = wire.a_number("Points over all points that it costs.")


class RelationSchema(wire.Answer):
    """A tie to another tactic."""

    kind = wire.a_word(RelationKind, "How they stand to each other.")
    to = wire.a_text("Id of the other tactic.")
    settled = wire.a_text("How a conflict is settled.", absent=True)


class TacticSchema(wire.Answer):
    """One tactic."""

    id = wire.a_text("Id; never used again for anything else.")
    category = wire.a_text("Id of its category.")
    title = wire.a_text("Title.")
    say = wire.a_text("What is said on court, where no wing is known.", of=lambda one: unnamed(one.say))
    why = wire.a_text("Why it works.")
    when = wire.a_list(AlternativeSchema, "Alternatives; one of them suffices.")
    needs = wire.a_list(GateSchema, "Own abilities that it needs.")
    unless = wire.a_list(CounterSchema, "Counter-indications that the service checks.")
    not_if = wire.a_text("When not, in words.")
    stop_when = wire.a_text("When to look again.")
    show = wire.a_word(Show, "How it finds its place.")
    risk = wire.a_word(RISKS, "What can go wrong with it.")
    price = wire.a_part(PriceSchema, "What it sends and replaces; absent for a line that sends no ball.", absent=True)
    terms = wire.texts("The price in words, term by term.")
    order = wire.a_count("Its place among lines without a price, 1 first; 0 for one with a price.")
    authority = wire.a_count("1 safety to 8 general percentage rule.")
    relations = wire.a_list(RelationSchema, "Ties to other tactics.")
    sources = wire.a_list(SourceLineSchema, "Who says so.")
    caution = wire.a_text("What must be said with it.", absent=True)
    moments = wire.a_list(
        wire.a_word(Moment, "A moment."), "The only moments at which it may be shown; none means any."
    )
    targets = wire.a_text("How its serve targets are computed.", absent=True)
    alone = wire.a_fact("Whether it silences tactics.")
    coaches_differ = wire.a_text("Both views, where coaches hold two.", absent=True)
    deprecated = wire.a_text("What to use instead of a retired tactic.", absent=True)
    house = wire.a_fact("Whether it is a rule of this house.")


TacticPage = page_schema(TacticSchema)


class HandsQuery(wire.Shape):
    """For whom a tactic is drawn."""

    own = wire.a_choice(DRAWN_HANDS, "Your playing hand. Absent: right.")
    opponent = wire.a_choice(DRAWN_HANDS, "Your opponent's. Absent: right.")
    wing = wire.a_choice(Wing, "The wing that the tactic aims at, where it aims at one. Absent: backhand.")


def tactic_body(tactic: Tactic, rulebook: Rulebook) -> dict[str, Any]:
    """Return the JSON of a tactic, its conditions in words."""

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
    """Return the statuses of its sources, or common practice."""
    return {line.status for line in source_lines(tactic, rulebook)}


blueprint = Blueprint("tactics", of_the_rulebook=True)


@blueprint.route("/v1/tactics")
@blueprint.arguments(TacticsQuery, location="query")
@blueprint.response(200, TacticPage, description="One page of tactics.")
def list_tactics(query: dict[str, Any]) -> Response:
    """List the tactics.

    By category, in rulebook order, each with its conditions and its price in words, and its sources.
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

    A retired tactic is still served, with what to use instead.
    """
    return answer(tactic_body(_known(tactic_id), deployment().rulebook))


@blueprint.route("/v1/tactics/<tactic_id>/picture")
@blueprint.arguments(HandsQuery, location="query")
@blueprint.response(200, description="The court, with a title and a text alternative in it.")
@offers(SVG)
def draw_tactic(query: dict[str, Any], tactic_id: str) -> Response:
    """Draw where a tactic happens on the court.

    Targets, where to stand, the ways of ball and players: for these hands and, if the tactic aims at a wing, for
    that wing. Places are model defaults, not measured. Not found (404) for a tactic without a place.
    """
    tactic, wing = _known(tactic_id), query.get("wing")
    hands = Hands(query.get("own"), query.get("opponent"), Wing(wing) if wing else None)
    place = place_of(tactic_id, hands, deployment().rulebook)
    if place is None:
        refuse(NOT_FOUND, "this tactic has no place on the court")
    return picture_answer(tactic_picture(place, hands, title=tactic.title))


def _known(tactic_id: str) -> Tactic:
    return deployment().rulebook.tactics.get(tactic_id) or refuse(NOT_FOUND, "no tactic has this id")
