"""The shape of an advice: what the presenter writes, named for the contract and for tests."""

from typing import Any

from marshmallow import fields
from marshmallow.validate import OneOf, Range

from tacticapi.api.shapes import Shape
from tacticapi.domain.terms import HeldBack, Moment, Phase, Plan, Wing


def a_text(says: str, *, null: bool = False) -> fields.String:
    """A text that always stands; with `null` it may be null."""
    return fields.String(required=True, allow_none=null, metadata={"description": says})


def a_word(words: Any, says: str, *, null: bool = False) -> fields.String:
    """One of a closed list of words."""
    listed = [str(each) for each in words]
    return fields.String(required=True, allow_none=null, validate=OneOf(listed), metadata={"description": says})


def a_number(says: str, *, null: bool = False) -> fields.Float:
    """A number that always stands; with `null` it may be null."""
    return fields.Float(required=True, allow_none=null, metadata={"description": says})


def a_chance(says: str) -> fields.Float:
    """A probability, 0 to 1."""
    return fields.Float(required=True, validate=Range(0, 1), metadata={"description": says})


def a_place(says: str, *, null: bool = False) -> fields.Integer:
    """A place in the posted list of observations, from 0."""
    return fields.Integer(required=True, allow_none=null, validate=Range(0), metadata={"description": says})


def a_list(inner: Any, says: str) -> fields.List[Any]:
    """A list that always stands, empty where there is nothing."""
    shape = fields.Nested(inner) if isinstance(inner, type) and issubclass(inner, Shape) else inner
    return fields.List(shape, required=True, metadata={"description": says})


def a_wing(says: str = "The wing; null where the trait has none.") -> fields.String:
    """A wing or null."""
    return a_word(Wing, says, null=True)


class RulebookRefSchema(Shape):
    """Exactly which rules answered."""

    version = a_text("Version of the rules.")
    digest = a_text("sha256 over all rules in canonical form.")


class SourceLineSchema(Shape):
    """Who says so. A citation backs a fact, never a threshold of ours."""

    status = a_text("How the content is known, or the words common practice.")
    key = a_text("Key of the source list.", null=True)
    citation = a_text("The publication.", null=True)
    backs = a_text("The fact that it backs.", null=True)


class SafetySchema(Shape):
    """A safety line; it stands before tactics, and instead of them where `alone`."""

    tactic = a_text("Id of the rule.")
    say = a_text("What to say.")
    why = a_text("Why.")
    caution = a_text("What must be said with it.", null=True)
    alone = fields.Boolean(required=True, metadata={"description": "Whether it silences tactics."})
    sources = a_list(SourceLineSchema, "Every source.")


class ReasonSchema(Shape):
    """One reason in counts, with what was posted, in the way in which it was said."""

    text = a_text("The reason in words.")
    observation = a_place("Its place in the posted list; null for a fact that is no observation.", null=True)
    ref = a_text("The client's own id of the observation.", null=True)
    what = a_text("Id of the vocabulary, the name of the fact, or earlier-matches.")
    count = fields.Float()
    of = fields.Float()
    counts = fields.Dict(keys=fields.String(), values=fields.Float())
    rating = fields.Float()
    value = fields.String()
    amount = fields.Float()
    seen = fields.Boolean()
    trait = a_text("The trait that it speaks for.", null=True)
    wing = a_wing()
    log_odds = a_number("What it added to the log-odds of that trait.", null=True)


class RestsOnSchema(Shape):
    """A trait that a suggestion rests on."""

    trait = a_text("Id of the trait.")
    wing = a_wing()
    probability = a_chance("How likely it holds.")
    read = a_text("How much was seen: glimpse, hint, working read or firm read.")


class GainSchema(Shape):
    """What it is worth. The figures rest on model defaults of this service."""

    point = a_number("Expected gain per point, over all points: half on serve and half on return.")
    match = a_number("Expected gain in the chance to win the match; null where it is not priced.", null=True)
    match_low = a_number("10th percentile of that gain.", null=True)
    match_high = a_number("90th percentile of that gain.", null=True)


class TargetSchema(Shape):
    """A serve target, computed from the receiver's hand and the court."""

    court = a_word(("deuce", "ad"), "The court served into.")
    spot = a_word(("wide", "body", "T"), "Where in it.")
    wing = a_word(Wing, "The wing that it reaches.")


class CourtNoteSchema(Shape):
    """A figure about court and ball beside a suggestion."""

    figure = a_text("Name of the figure.")
    text = a_text("It in words.")
    posted = fields.Boolean(
        required=True,
        metadata={"description": "Whether it was worked out from what was posted; false: the general rule."},
    )


class SuggestionSchema(Shape):
    """One line of advice with everything that belongs to it."""

    rank = fields.Integer(required=True, validate=Range(1), metadata={"description": "1 first."})
    tactic = a_text("Id of the tactic.")
    category = a_text("Its category.")
    title = a_text("Its title.")
    say = a_text("What to say on court.")
    why = a_text("Why it works.")
    because = a_list(ReasonSchema, "Why now, in counts, strongest first.")
    rests_on = a_list(RestsOnSchema, "The traits that it rests on.")
    gain = fields.Nested(GainSchema, required=True)
    not_if = a_text("When not to do it.")
    stop_when = a_text("When to look again.")
    risk = a_word(("low", "medium", "high"), "What can go wrong with it.")
    caution = a_text("What must be said with it.", null=True)
    targets = a_list(TargetSchema, "Serve targets, where the tactic has some and the receiver's hand is known.")
    source = fields.Nested(SourceLineSchema, required=True)
    sources = a_list(SourceLineSchema, "Every source, the first one included.")
    coaches_differ = a_text("Both views, where coaches hold two.", null=True)
    picture = a_text("The address of its place on the court as a picture (SVG); null where it has none.", null=True)
    court = fields.Nested(
        CourtNoteSchema,
        required=True,
        allow_none=True,
        metadata={"description": "A figure about court and ball, where the tactic rests on geometry; else null."},
    )


class LookSchema(Shape):
    """What to look for next."""

    what = a_text("Id of the vocabulary.")
    asks = a_text("The question to an onlooker.")
    how = a_text("How to get to see it.")
    worth = a_number("What seeing it is worth, in the chance to win the match; 0 for a look of the starter set.")
    trait = a_text("The trait that it would tell most about; null for a look of the starter set.", null=True)
    wing = a_wing("The wing on which to look; null where it does not matter.")


class HeldBackSchema(Shape):
    """A tactic that matched and was held back."""

    tactic = a_text("Id of the tactic.")
    reason = a_word(HeldBack, "The sort of reason.")
    why = a_text("The reason in words.")


class UnusedSchema(Shape):
    """An accepted observation that moved nothing, or a free text that somebody must read."""

    observation = a_place("Its place in the posted list; null for a fact.", null=True)
    ref = a_text("The client's own id of it.", null=True)
    what = a_text("Id of the vocabulary.")
    why = a_text("Why it moved nothing.")
    text = a_text("The free text that no rule understands; null if there is none.", null=True)


class ContributionSchema(Shape):
    """What one kind of observation did to a belief."""

    text = a_text("It in counts.")
    what = a_text("Id of the vocabulary; earlier-matches for what was learned of a kept opponent before.")
    observations = a_list(
        a_place("A place in the posted list."), "The observations behind it; none for a profile item."
    )
    phase = a_word(Phase, "When it was seen.")
    chances = a_number("How many chances were seen, aged.")
    log_odds = a_number("What it added to the log-odds.")


class BeliefSchema(Shape):
    """How likely a trait holds, and what moved it."""

    trait = a_text("Id of the trait.")
    wing = a_wing()
    probability = a_chance("How likely it holds.")
    prior = a_chance("How likely it was before anything was seen.")
    because = a_list(ContributionSchema, "What moved it, strongest first.")


class ChangedSchema(Shape):
    """What is not as it was at the advice before."""

    what = a_word(("first", "belief", "play"), "The first suggestion, a belief, or the opponent's play.")
    text = a_text("The change in words.")
    trait = a_text("The trait whose belief changed.", null=True)
    wing = a_wing()
    before = a_number("Probability or share then.", null=True)
    after = a_number("Probability or share now.", null=True)
    observations = a_list(a_place("A place in the posted list."), "The observations that made it so.")


class AdviceSchema(Shape):
    """The answer. Where the event permits no advice now, all but safety and notice is null or empty."""

    advice_id = fields.UUID(required=True, metadata={"description": "Id of this answer."})
    moment = a_word(Moment, "The moment asked about.")
    rulebook = fields.Nested(RulebookRefSchema, required=True)
    safety = a_list(SafetySchema, "Safety lines; read them first.")
    plan = a_word(Plan, "Whether to keep, adjust or change the plan.", null=True)
    plan_why = a_text("The verdict's reason in counts.", null=True)
    score = a_text("The next point in one line.", null=True)
    suggestions = a_list(SuggestionSchema, "Ranked, the best first; safety, law and tempo before gain.")
    look_for = a_list(LookSchema, "What to look for next.")
    held_back = a_list(HeldBackSchema, "What matched and was held back.")
    unused = a_list(UnusedSchema, "Observations that moved nothing.")
    beliefs = a_list(BeliefSchema, "Every trait, and each of its wings, in the order of /v1/traits.")
    notice = a_list(fields.String(), "What the reader must be told.")
    changed = a_list(ChangedSchema, "What has changed since the advice in `previous`.")
