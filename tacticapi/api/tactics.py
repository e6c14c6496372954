"""The tactics of the rulebook, and where each happens on the court."""

from collections.abc import Iterable
from typing import Any

from flask import Response
from marshmallow import fields
from marshmallow.validate import OneOf

from tacticapi.advice.condition_words import condition_words
from tacticapi.advice.places import place_of
from tacticapi.advice.wording import source_lines
from tacticapi.api.http.blueprint import SVG, Blueprint, answer, offers, picture_answer
from tacticapi.api.http.deployment import deployment
from tacticapi.api.http.fields import Shape, a_choice, a_list, a_number, a_text, a_word
from tacticapi.api.http.paging import PageQuery, listed, page_schema, paged
from tacticapi.api.http.problems import NOT_FOUND, refuse
from tacticapi.api.suggestions import DRAWN_HANDS, SourceLineSchema, source_body
from tacticapi.domain.place import Hands
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.tactic import Condition, Effect, RelationKind, Tactic, Touches
from tacticapi.domain.terms import Moment, Show, Wing
from tacticapi.pictures import tactic_picture

RISKS = ("low", "medium", "high")


class TacticsQuery(PageQuery):
    """Which tactics are wanted."""

    category = fields.String(metadata={"description": "Id of a category, see /v1/rulebook. Absent: all."})
    status = fields.String(
        metadata={"description": "Only tactics with a source of this status, or common practice. Absent: all."}
    )
    risk = fields.String(
        validate=OneOf(RISKS, error=f"one of {', '.join(RISKS)}"), metadata={"description": "Absent: all."}
    )


class AlternativeSchema(Shape):
    """Conditions that must all hold."""

    all = a_list(fields.String(), "The conditions in words; none means always.")
    scale = a_number("Multiplies gain and loss.")
    say = a_text("Replaces the line of the tactic.", null=True)


class GateSchema(Shape):
    """An own ability that the tactic needs."""

    any_of = a_list(fields.String(), "Names of own abilities; one of them suffices.")
    at_least = fields.Integer(required=True, metadata={"description": "The rating that it takes, 0 to 4."})


class CounterSchema(Shape):
    """A counter-indication that the service checks itself."""

    all = a_list(fields.String(), "The conditions in words.")
    why = a_text("Why not, then.")


class EffectSchema(Shape):
    """What it is taken to be worth; model defaults."""

    on = a_word(Touches, "Which points it touches.")
    share = a_number("The share of them.")
    gain = a_number("Gain per touched point where its traits hold.")
    loss = a_number("Loss per touched point where they do not.")
    cause = a_text("What makes it right where it rests on no trait.")
    note = a_text("A remark.")


class RelationSchema(Shape):
    """A tie to another tactic."""

    kind = a_word(RelationKind, "How they stand to each other.")
    to = a_text("Id of the other tactic.")
    settled = a_text("How a conflict is settled.", null=True)


class TacticSchema(Shape):
    """One tactic."""

    id = a_text("Id; never used again for anything else.")
    category = a_text("Id of its category.")
    title = a_text("Title.")
    say = a_text("What is said on court.")
    why = a_text("Why it works.")
    when = a_list(AlternativeSchema, "Alternatives; one of them suffices.")
    needs = a_list(GateSchema, "Own abilities that it needs.")
    unless = a_list(CounterSchema, "Counter-indications that the service checks.")
    not_if = a_text("When not, in words.")
    stop_when = a_text("When to look again.")
    show = a_word(Show, "How it finds its place.")
    risk = a_word(RISKS, "What can go wrong with it.")
    effect = fields.Nested(EffectSchema, required=True)
    authority = fields.Integer(required=True, metadata={"description": "1 safety to 8 general percentage rule."})
    relations = a_list(RelationSchema, "Ties to other tactics.")
    sources = a_list(SourceLineSchema, "Who says so.")
    caution = a_text("What must be said with it.", null=True)
    moments = a_list(a_word(Moment, "A moment."), "The only moments at which it may be shown; none means any.")
    targets = a_text("How its serve targets are computed.", null=True)
    alone = fields.Boolean(required=True, metadata={"description": "Whether it silences tactics."})
    coaches_differ = a_text("Both views, where coaches hold two.", null=True)
    deprecated = a_text("What to use instead of a retired tactic.", null=True)
    house = fields.Boolean(required=True, metadata={"description": "Whether it is a rule of this house."})


TacticPage = page_schema(TacticSchema)


class HandsQuery(Shape):
    """For whom a tactic is drawn."""

    own = a_choice(DRAWN_HANDS, "Your playing hand. Absent: right.")
    opponent = a_choice(DRAWN_HANDS, "Your opponent's. Absent: right.")
    wing = a_choice(Wing, "The wing that the tactic aims at, where it aims at one. Absent: backhand.")


def tactic_body(tactic: Tactic, rulebook: Rulebook) -> dict[str, Any]:
    """One tactic with its conditions in words."""

    def words(conditions: Iterable[Condition]) -> list[str]:
        return [condition_words(condition, rulebook) for condition in conditions]

    return {
        "id": tactic.id,
        "category": tactic.category,
        "title": tactic.title,
        "say": tactic.say,
        "why": tactic.why,
        "when": [{"all": words(each.conditions), "scale": each.scale, "say": each.say} for each in tactic.when],
        "needs": [{"any_of": list(gate.keys), "at_least": gate.at_least} for gate in tactic.needs],
        "unless": [{"all": words(counter.conditions), "why": counter.why} for counter in tactic.unless],
        "not_if": tactic.not_if,
        "stop_when": tactic.stop_when,
        "show": tactic.show.value,
        "risk": tactic.risk,
        "effect": _effect(tactic.effect),
        "authority": tactic.authority,
        "relations": [{"kind": r.kind.value, "to": r.to, "settled": r.settled} for r in tactic.relations],
        "sources": [source_body(line) for line in source_lines(tactic, rulebook)],
        "caution": tactic.caution,
        "moments": [moment.value for moment in tactic.moments],
        "targets": tactic.targets,
        "alone": tactic.alone,
        "coaches_differ": tactic.coaches_differ,
        "deprecated": tactic.deprecated,
        "house": tactic.house,
    }


def statuses(tactic: Tactic, rulebook: Rulebook) -> set[str]:
    """The statuses of its sources, or common practice."""
    return {line.status for line in source_lines(tactic, rulebook)}


def _effect(effect: Effect) -> dict[str, Any]:
    return {
        "on": effect.on.value,
        "share": effect.share,
        "gain": effect.gain,
        "loss": effect.loss,
        "cause": effect.cause,
        "note": effect.note,
    }


blueprint = Blueprint("tactics", "What can be advised.", of_the_rulebook=True)


@blueprint.route("/v1/tactics")
@blueprint.arguments(TacticsQuery, location="query")
@blueprint.response(200, TacticPage, description="One page of tactics.")
@blueprint.doc(operationId="listTactics")
def list_tactics(query: dict[str, Any]) -> Response:
    """List the tactics.

    By category, in rulebook order, each with its conditions in words, its worth and its sources.
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
@blueprint.doc(operationId="getTactic")
def get_tactic(tactic_id: str) -> Response:
    """Get one tactic.

    A retired tactic is still served, with what to use instead.
    """
    rulebook = deployment().rulebook
    if tactic_id not in rulebook.tactics:
        refuse(NOT_FOUND, "no tactic has this id")
    return answer(tactic_body(rulebook.tactics[tactic_id], rulebook))


@blueprint.route("/v1/tactics/<tactic_id>/picture")
@blueprint.arguments(HandsQuery, location="query")
@blueprint.response(200, description="The court, with a title and a text alternative in it.")
@blueprint.doc(operationId="drawTactic", responses={200: {"content": {SVG: {"schema": {"type": "string"}}}}})
@offers(SVG)
def draw_tactic(query: dict[str, Any], tactic_id: str) -> Response:
    """Draw where a tactic happens on the court.

    Targets, where to stand, the ways of ball and players: for these hands and, where the tactic aims at a wing, for
    that wing. Places are model defaults, not measured. Not found (404) for a tactic without a place.
    """
    rulebook = deployment().rulebook
    if tactic_id not in rulebook.tactics:
        refuse(NOT_FOUND, "no tactic has this id")
    wing = query.get("wing")
    hands = Hands(query.get("own"), query.get("opponent"), Wing(wing) if wing else None)
    place = place_of(tactic_id, hands, rulebook)
    if place is None:
        refuse(NOT_FOUND, "this tactic has no place on the court")
    return picture_answer(tactic_picture(place, hands, title=rulebook.tactics[tactic_id].title))
