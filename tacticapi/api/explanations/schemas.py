"""The shape of an explanation."""

from marshmallow import fields
from marshmallow.validate import Length

from tacticapi.api.shapes import Shape
from tacticapi.api.suggestions.schemas import AdviceSchema, a_list, a_place, a_text, a_word
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

    id = a_text("Its id within this answer.")
    kind = a_word(FactKind, "What it speaks of.")
    name = a_text("Its name.")
    fields_ = fields.Dict(
        keys=fields.String(),
        required=True,
        data_key="fields",
        metadata={"description": "Whole numbers and words; a probability or share stands in thousandths."},
    )
    observations = a_list(a_place("A place in the posted list."), "The observations that it rests on.")


class FiredSchema(Shape):
    """A rule that fired."""

    rule = a_text(
        "Id of the rule: tactic, candidate, unless or circumstance, the id, and the number of the alternative."
    )
    facts = a_list(fields.String(), "Ids of the facts that it matched, in the order of its conditions.")
    derives = a_text("The circumstance that it proves.", null=True)


class WhySchema(Shape):
    """Why a tactic was suggested, or why not."""

    tactic = a_text("Id of the tactic.")
    verdict = a_word(VERDICTS, "What became of it.")
    why = a_text("The reason in words.")
    unmet = a_list(fields.String(), "What its nearest alternative still needs.")
    chain = a_list(fields.String(), "From the rule that fired back to what was posted.")


class ExplanationSchema(AdviceSchema):
    """The advice and everything behind it."""

    engine = a_text("What matched the rules: durable-rules, or the evaluator in its place.")
    facts = a_list(FactSchema, "Every fact, derived ones included.")
    fired = a_list(FiredSchema, "Every rule that fired.")
    why = a_list(WhySchema, "For the tactic asked about, or for all: why or why not.")
