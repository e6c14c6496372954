"""The shape of tactics."""

from marshmallow import fields
from marshmallow.validate import OneOf

from tacticapi.api.choice import a_choice
from tacticapi.api.paging import PageQuery, page_schema
from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import SourceLineSchema, a_list, a_number, a_text, a_word
from tacticapi.api.tactics.addresses import DRAWN_HANDS
from tacticapi.domain.tactic import RelationKind, Touches
from tacticapi.domain.terms import Moment, Show, Wing

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
