"""The shape of an advice: what the presenter writes, named for the contract and for tests."""

from typing import Any

from marshmallow import fields
from marshmallow.validate import OneOf, Range

from tacticapi.api.shapes import Shape
from tacticapi.domain.terms import HeldBack, Moment, Phase, Plan, Wing


def text(says: str, *, null: bool = False) -> fields.String:
    """A text that always stands; with `null` it may be null."""
    return fields.String(required=True, allow_none=null, metadata={"description": says})


def word(words: Any, says: str, *, null: bool = False) -> fields.String:
    """One of a closed list of words."""
    listed = [str(each) for each in words]
    return fields.String(required=True, allow_none=null, validate=OneOf(listed), metadata={"description": says})


def number(says: str, *, null: bool = False) -> fields.Float:
    """A number that always stands; with `null` it may be null."""
    return fields.Float(required=True, allow_none=null, metadata={"description": says})


def chance(says: str) -> fields.Float:
    """A probability, 0 to 1."""
    return fields.Float(required=True, validate=Range(0, 1), metadata={"description": says})


def place(says: str, *, null: bool = False) -> fields.Integer:
    """A place in the posted list of observations, from 0."""
    return fields.Integer(required=True, allow_none=null, validate=Range(0), metadata={"description": says})


def many(inner: Any, says: str) -> fields.List:
    """A list that always stands, empty where there is nothing."""
    shape = fields.Nested(inner) if isinstance(inner, type) and issubclass(inner, Shape) else inner
    return fields.List(shape, required=True, metadata={"description": says})


def wing(says: str = "The wing; null where the trait has none.") -> fields.String:
    """A wing or null."""
    return word(Wing, says, null=True)


class RulebookRefSchema(Shape):
    """Exactly which rules answered."""

    version = text("Version of the rules.")
    digest = text("sha256 over all rules in canonical form.")


class SourceLineSchema(Shape):
    """Who says so. A citation backs a fact, never a threshold of ours."""

    status = text("How the content is known, or the words common practice.")
    key = text("Key of the source list.", null=True)
    citation = text("The publication.", null=True)
    backs = text("The fact that it backs.", null=True)


class SafetySchema(Shape):
    """A safety line; it stands before tactics, and instead of them where `alone`."""

    tactic = text("Id of the rule.")
    say = text("What to say.")
    why = text("Why.")
    caution = text("What must be said with it.", null=True)
    alone = fields.Boolean(required=True, metadata={"description": "Whether it silences tactics."})
    source = fields.Nested(SourceLineSchema, required=True)


class ReasonSchema(Shape):
    """One reason in counts, with what was posted, in the way in which it was said."""

    text = text("The reason in words.")
    observation = place("Its place in the posted list; null for a fact that is no observation.", null=True)
    ref = text("The client's own id of the observation.", null=True)
    what = text("Id of the vocabulary, or the name of the fact.")
    count = fields.Float()
    of = fields.Float()
    counts = fields.Dict(keys=fields.String(), values=fields.Float())
    rating = fields.Float()
    value = fields.String()
    amount = fields.Float()
    seen = fields.Boolean()
    trait = text("The trait that it speaks for.", null=True)
    wing = wing()
    log_odds = number("What it added to the log-odds of that trait.", null=True)


class RestsOnSchema(Shape):
    """A trait that a suggestion rests on."""

    trait = text("Id of the trait.")
    wing = wing()
    probability = chance("How likely it holds.")
    read = text("How much was seen: glimpse, hint, working read or firm read.")


class GainSchema(Shape):
    """What it is worth. The figures rest on model defaults of this service."""

    point = number("Expected gain a point over all points, half on serve and half on return.")
    match = number("Expected gain in the chance of the match; null where it is not priced.", null=True)
    match_low = number("10th percentile of that gain.", null=True)
    match_high = number("90th percentile of that gain.", null=True)


class TargetSchema(Shape):
    """A serve target, computed from the receiver's hand and the court."""

    court = word(("deuce", "ad"), "The court served into.")
    spot = word(("wide", "body", "T"), "Where in it.")
    wing = word(Wing, "The wing that it reaches.")


class SuggestionSchema(Shape):
    """One line of advice with everything that belongs to it."""

    rank = fields.Integer(required=True, validate=Range(1), metadata={"description": "1 first."})
    tactic = text("Id of the tactic.")
    category = text("Its category.")
    title = text("Its title.")
    say = text("What to say on court.")
    why = text("Why it works.")
    because = many(ReasonSchema, "Why now, in counts, strongest first.")
    rests_on = many(RestsOnSchema, "The traits that it rests on.")
    gain = fields.Nested(GainSchema, required=True)
    not_if = text("When not to do it.")
    stop_when = text("When to look again.")
    risk = word(("low", "medium", "high"), "What can go wrong with it.")
    caution = text("What must be said with it.", null=True)
    targets = many(TargetSchema, "Serve targets, where the tactic has some and the receiver's hand is known.")
    source = fields.Nested(SourceLineSchema, required=True)
    sources = many(SourceLineSchema, "Every source, the first one included.")
    coaches_differ = text("Both views, where coaches hold two.", null=True)


class LookSchema(Shape):
    """What to look for next."""

    what = text("Id of the vocabulary.")
    asks = text("The question to an onlooker.")
    how = text("How to get to see it.")
    worth = number("What seeing it is worth, in points.")


class HeldBackSchema(Shape):
    """A tactic that matched and was set aside."""

    tactic = text("Id of the tactic.")
    reason = word(HeldBack, "The sort of reason.")
    why = text("The reason in words.")


class UnusedSchema(Shape):
    """An accepted observation that moved nothing."""

    observation = place("Its place in the posted list.")
    ref = text("The client's own id of it.", null=True)
    what = text("Id of the vocabulary.")
    why = text("Why it moved nothing.")


class ContributionSchema(Shape):
    """What one kind of observation did to a belief."""

    text = text("It in counts.")
    what = text("Id of the vocabulary.")
    observations = many(place("A place in the posted list."), "The observations behind it; none for a profile item.")
    phase = word(Phase, "When it was seen.")
    chances = number("How many chances were seen, aged.")
    log_odds = number("What it added to the log-odds.")


class BeliefSchema(Shape):
    """How likely a trait holds, and what moved it."""

    trait = text("Id of the trait.")
    wing = wing()
    probability = chance("How likely it holds.")
    prior = chance("How likely it was before anything was seen.")
    because = many(ContributionSchema, "What moved it, strongest first.")


class AdviceSchema(Shape):
    """The answer. Where the event permits no advice now, all but safety and notice is null or empty."""

    advice_id = fields.UUID(required=True, metadata={"description": "Id of this answer."})
    moment = word(Moment, "The moment asked about.")
    rulebook = fields.Nested(RulebookRefSchema, required=True)
    safety = many(SafetySchema, "Safety lines; read them first.")
    plan = word(Plan, "Whether to keep, adjust or change the plan.", null=True)
    plan_why = text("The verdict's reason in counts.", null=True)
    score = text("The next point in one line.", null=True)
    suggestions = many(SuggestionSchema, "Ranked, the best first; safety, law and tempo before gain.")
    look_for = many(LookSchema, "What to look for next.")
    held_back = many(HeldBackSchema, "What matched and was set aside.")
    unused = many(UnusedSchema, "Observations that moved nothing.")
    beliefs = many(BeliefSchema, "Every trait, and each of its wings, in the order of /v1/traits.")
    notice = many(fields.String(), "What the reader must be told.")
