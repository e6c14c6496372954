"""The shape of an explanation."""

from marshmallow import fields
from marshmallow.validate import Length

from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import AdviceSchema, many, place, text, word
from tacticapi.domain.tactic import FactKind

VERDICTS = ("suggested", "held-back", "not-shown", "no-match")


class ExplanationQuery(Shape):
    """What is asked about."""

    tactic = fields.String(
        validate=Length(1, 100, error="the id of a tactic"),
        metadata={"description": "Id of the tactic asked about. Absent: all of them."},
    )


class FactSchema(Shape):
    """One fact that the rules were matched against."""

    id = text("Its id within this answer.")
    kind = word(FactKind, "What it speaks of.")
    name = text("Its name.")
    fields_ = fields.Dict(
        keys=fields.String(),
        required=True,
        data_key="fields",
        metadata={"description": "Whole numbers and words; a probability or share stands in thousandths."},
    )
    observations = many(place("A place in the posted list."), "The observations that it rests on.")


class FiredSchema(Shape):
    """A rule that fired."""

    rule = text("Id of the rule: tactic, candidate, unless or circumstance, the id, and the number of the alternative.")
    facts = many(fields.String(), "Ids of the facts that it matched, in the order of its conditions.")
    derives = text("The circumstance that it proves.", null=True)


class WhySchema(Shape):
    """Why a tactic was suggested, or why not."""

    tactic = text("Id of the tactic.")
    verdict = word(VERDICTS, "What became of it.")
    why = text("The reason in words.")
    unmet = many(fields.String(), "What its nearest alternative still needs.")
    chain = many(fields.String(), "From the rule that fired back to what was posted.")


class ExplanationSchema(AdviceSchema):
    """The advice and everything behind it."""

    engine = text("What matched the rules: durable-rules, or the evaluator in its place.")
    facts = many(FactSchema, "Every fact, derived ones included.")
    fired = many(FiredSchema, "Every rule that fired.")
    why = many(WhySchema, "For the tactic asked about, or for all: why or why not.")
