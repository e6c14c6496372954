"""Define the shape of advice in responses, and convert advice to it."""

from collections.abc import Collection, Mapping
from typing import Any
from urllib.parse import urlencode

from marshmallow import fields

from tacticapi.api.http import fields as wire
from tacticapi.domain import advice as parts
from tacticapi.domain.advice import Advice
from tacticapi.domain.court import Hands
from tacticapi.domain.reasoning import Belief, Contribution, Estimate
from tacticapi.domain.situation import Game, Moment

DRAWN_HANDS = ("right", "left")


def picture_address(tactic: str, hands: Hands | None) -> str | None:
    """Return the address of a tactic's picture, for the hands that are known; None if it has no place on court."""
    if hands is None:
        return None
    known = {
        "own": hands.own if hands.own in DRAWN_HANDS else None,
        "opponent": hands.opponent if hands.opponent in DRAWN_HANDS else None,
        "wing": hands.wing.value if hands.wing else None,
    }
    query = urlencode({name: value for name, value in known.items() if value})
    return wire.hosted(f"/v1/tactics/{tactic}/picture") + (f"?{query}" if query else "")


COUNT_DIGITS = 2


class RulebookRefSchema(wire.Answer):
    """The exact rules behind a response."""

    version = wire.a_text("Version of the rules.")
    digest = wire.a_text("SHA-256 of all rules in canonical form.")


def _said(kind: type[fields.Field[Any]], name: str, **more: Any) -> fields.Field[Any]:
    return kind(**more, metadata={"of": lambda reason: reason.said.get(name)})


class SinceSchema(wire.Answer):
    """A game in the match."""

    set = wire.a_count("Set number, counting from 1.", of="0")
    game = wire.a_count("Number of the game in that set, from 1.", of="1")


class SeenSchema(wire.Answer):
    """Counts of the kind that shows a quality best; 0 of 0 if only other kinds were posted."""

    count = wire.a_number("Number of times it happened.", of="hits", digits=COUNT_DIGITS)
    of = wire.a_number("Number of chances.", of="chances", digits=COUNT_DIGITS)


wire.SHAPES[Game] = SinceSchema
SourceLineSchema, SafetySchema, LookSchema = map(wire.shape_of, (parts.SourceLine, parts.Safety, parts.Look))
HeldBackSchema = wire.shape_of(parts.HeldBackTactic, "HeldBack")
ChangedSchema = wire.shape_of(parts.AdviceChange, "Changed")
PlanSchema = wire.shape_of(parts.Plan, order="tactic since tried won verdict why next")
UnusedSchema = wire.shape_of(parts.UnusedObservation, "Unused", "observation ref what why text")
wire.shape_of(
    parts.Reason,
    order="text observation ref what count of counts rating value amount seen",
    count=_said(fields.Float, "count"),
    of=_said(fields.Float, "of"),
    counts=_said(fields.Dict, "counts", keys=fields.String(), values=fields.Float()),
    rating=_said(fields.Float, "rating"),
    value=_said(fields.String, "value"),
    amount=_said(fields.Float, "amount"),
    seen=_said(fields.Boolean, "seen"),
)
SuggestionSchema = wire.shape_of(
    parts.Suggestion,
    order="rank tactic category title say why because rests_on worth not_if stop_when risk caution safety targets "
    "sources coaches_differ picture",
    rests_on=wire.a_list(
        wire.shape_of(parts.RestsOn), "The traits it is based on; with `include=explanations`.", absent=True
    ),
    picture=wire.a_text(
        "Address of the tactic's court picture (SVG); absent if it has none.",
        absent=True,
        of=lambda suggestion: picture_address(suggestion.tactic, suggestion.drawn_for),
    ),
)
CONTRIBUTION = wire.shape_of(Contribution, order="text what observations phase chances")
BeliefSchema = wire.shape_of(
    Belief,
    order="trait wing probability",
    because=wire.a_list(CONTRIBUTION, "The observations that moved it, strongest first.", of="contributions"),
)
QualityEstimateSchema = wire.shape_of(Estimate, "QualityEstimate", seen=wire.a_part(SeenSchema, of=wire.itself))


class AdviceSchema(wire.Answer):
    """Advice. If the event permits no advice now, only safety and notice are filled in."""

    advice_id = wire.an_id("Id of this advice.")
    moment = wire.a_word(Moment, "The moment that the advice is for.")
    rulebook = wire.a_part(RulebookRefSchema, of=wire.itself)
    safety = wire.a_list(SafetySchema, "Safety lines; read them first.")
    plan = wire.a_part(PlanSchema, "The plan and its verdict; absent if no advice is given.", absent=True)
    score = wire.a_text("The next point in one line.", absent=True)
    suggestions = wire.a_list(
        SuggestionSchema,
        "In order of rank: care and law, then lines for this point or break, then tactics by gain, then reminders.",
    )
    look_for = wire.a_list(LookSchema, "What to look for next.")
    held_back = wire.a_list(HeldBackSchema, "Matching tactics held back; with `include=held_back`.", absent=True)
    unused = wire.a_list(
        UnusedSchema,
        "With `include=unused`, observations that had no effect; otherwise only free text that a person must read.",
        absent=True,
    )
    beliefs = wire.a_list(BeliefSchema, "All traits, by wing, as in /v1/traits; with `include=beliefs`.", absent=True)
    profile = wire.a_list(
        QualityEstimateSchema,
        "What is known about both players: each quality observed, the surest differences from a usual player first; "
        "with `include=profile`.",
        absent=True,
    )
    notice = wire.texts("Notices for the reader.")
    changed = wire.a_list(ChangedSchema, "What has changed since the advice in `previous`.")


OF_ADVICE = frozenset(AdviceSchema._declared_fields)
EXPLANATIONS, PROFILE, UNUSED = "explanations", "profile", "unused"
PARTS = ("beliefs", PROFILE, "held_back", UNUSED, EXPLANATIONS)
OF_EXPLANATIONS = ("rests_on",)  # members of a suggestion
_PART = f"({'|'.join(PARTS)})"


class Include(fields.String):
    """The optional parts of the response, as a set."""

    def __init__(self) -> None:
        expected = f"a comma-separated list of {', '.join(PARTS)}"
        says = "Optional parts to include, separated by commas."
        super().__init__(
            error_messages=dict.fromkeys(("null", "invalid"), expected),
            metadata={"description": says, "pattern": f"^{_PART}(,{_PART})*$"},
        )

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        words = value.split(",")
        if not set(words) <= set(PARTS):
            raise self.make_error("invalid")
        return frozenset(words)


def advice_body(advice: Advice, advice_id: str, include: Collection[str] = PARTS) -> dict[str, Any]:
    """Return advice as JSON, with those PARTS that are in `include`. Withheld parts are empty or absent."""
    left_out = () if EXPLANATIONS in include else OF_EXPLANATIONS
    unread = () if UNUSED in include else [one for one in advice.unused if one.text]
    given = {"unused": [UnusedSchema.written(one) for one in unread]} if unread else {}
    return AdviceSchema.written(
        advice,
        without={part for part in PARTS if part not in include} - given.keys(),
        advice_id=advice_id,
        suggestions=[SuggestionSchema.written(one, without=left_out) for one in advice.suggestions],
        **given,
    )
