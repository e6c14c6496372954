"""Advice for one situation, nothing kept; as an explanation with the whole trace behind it."""

import uuid
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

from flask import Response
from marshmallow import fields
from marshmallow.validate import Length, Range

from tacticapi.advice import Trace
from tacticapi.api.http import fields as wire
from tacticapi.api.http.access import club_id, require
from tacticapi.api.http.blueprint import Blueprint, answer
from tacticapi.api.http.deployment import deployment, kept_services
from tacticapi.api.http.problems import INVALID_QUERY, NOT_FOUND, refuse
from tacticapi.api.situations import SituationSchema
from tacticapi.club import Refused
from tacticapi.club.dossier import SituationWithEarlier, begun, told_apart
from tacticapi.domain.advice import Advice
from tacticapi.domain.court import Hands
from tacticapi.domain.reasoning import RuleMatch
from tacticapi.domain.rules import FactKind
from tacticapi.domain.situation import HeldBack, Moment, Phase, Situation, Verdict, Wing
from tacticapi.rulebook.files import Fault

DRAWN_HANDS = ("right", "left")


def picture_address(tactic: str, hands: Hands | None) -> str | None:
    """Return where the picture is, for these hands as far as they are known; None if there is no place to draw."""
    if hands is None:
        return None
    known = {
        "own": hands.own if hands.own in DRAWN_HANDS else None,
        "opponent": hands.opponent if hands.opponent in DRAWN_HANDS else None,
        "wing": hands.wing.value if hands.wing else None,
    }
    query = urlencode({name: value for name, value in known.items() if value})
    return f"/v1/tactics/{tactic}/picture" + (f"?{query}" if query else "")


GAIN_DIGITS = 4
CHANCE_DIGITS = 3
LOG_ODDS_DIGITS = 2


class RulebookRefSchema(wire.Answer):
    """Exactly which rules answered."""

    version = wire.a_text("Version of the rules.")
    digest = wire.a_text("sha256 over all rules in canonical form.")


class SourceLineSchema(wire.Answer):
    """Who says so. A citation backs a fact, never one of our thresholds."""

    status = wire.a_text("How the content is known, or the words common practice.")
    key = wire.a_text("Key of the source list.", absent=True)
    citation = wire.a_text("The publication.", absent=True)
    backs = wire.a_text("The fact that it backs.", absent=True)


class SafetySchema(wire.Answer):
    """A safety line; it comes before tactics, or replaces them if `alone`."""

    tactic = wire.a_text("Id of the rule.")
    say = wire.a_text("What to say.")
    why = wire.a_text("Why.")
    caution = wire.a_text("What must be said with it.", absent=True)
    alone = wire.a_fact("Whether it silences tactics.")
    sources = wire.a_list(SourceLineSchema, "Every source.")


def _said(kind: type[fields.Field[Any]], name: str, **more: Any) -> fields.Field[Any]:
    """Return one way of saying what was seen; only the one that was posted is there."""
    return kind(**more, metadata={"of": lambda reason: reason.said.get(name)})


class ReasonSchema(wire.Answer):
    """One reason in counts, with what was posted and in which way."""

    text = wire.a_text("The reason in words.")
    observation = wire.a_place("Its place in the posted list; absent for a fact that is no observation.", absent=True)
    ref = wire.a_text("The client's own id of the observation.", absent=True)
    what = wire.a_text("Id of the vocabulary, or the name of the fact.")
    count = _said(fields.Float, "count")
    of = _said(fields.Float, "of")
    counts = _said(fields.Dict, "counts", keys=fields.String(), values=fields.Float())
    rating = _said(fields.Float, "rating")
    value = _said(fields.String, "value")
    amount = _said(fields.Float, "amount")
    seen = _said(fields.Boolean, "seen")
    points = wire.a_number(
        "What it adds to the gain of a tried point; absent for a line without a price.", absent=True, digits=GAIN_DIGITS
    )


class RestsOnSchema(wire.Answer):
    """A trait that a suggestion rests on."""

    trait = wire.a_text("Id of the trait.")
    wing = wire.a_wing()
    probability = wire.a_chance("How likely it holds.", digits=CHANCE_DIGITS)
    read = wire.a_text("How much was seen: glimpse, hint, working read or firm read.")


class WorthSchema(wire.Answer):
    """What it is worth. The figures rest on model defaults of this service."""

    size = wire.a_word(
        ("large", "some", "small", "unclear"), "The size of the gain in a word; unclear if it may as well cost."
    )
    pays_in = wire.a_chance("The part of all such players against whom it gains.", digits=CHANCE_DIGITS)
    point = wire.a_number(
        "Expected gain per point, over all points; the claims of all lines together are capped.", digits=GAIN_DIGITS
    )
    match = wire.a_number("Expected gain in the chance to win the match.", digits=GAIN_DIGITS)
    match_low = wire.a_number("10th percentile of that gain.", digits=GAIN_DIGITS)
    match_high = wire.a_number("90th percentile of that gain.", digits=GAIN_DIGITS)


class TargetSchema(wire.Answer):
    """A serve target, computed from the receiver's hand and the court."""

    court = wire.a_word(("deuce", "ad"), "The court served into.")
    spot = wire.a_word(("wide", "body", "T"), "Where in it.")
    wing = wire.a_word(Wing, "The wing that it reaches.")


class CourtNoteSchema(wire.Answer):
    """A figure about court and ball beside a suggestion."""

    figure = wire.a_text("Name of the figure.")
    text = wire.a_text("It in words.")
    posted = wire.a_fact("Whether it was worked out from what was posted; false: the general rule.")


class SuggestionSchema(wire.Answer):
    """One line of advice with everything that belongs to it."""

    rank = fields.Integer(required=True, validate=Range(1), metadata={"description": "1 first."})
    tactic = wire.a_text("Id of the tactic.")
    category = wire.a_text("Its category.")
    title = wire.a_text("Its title.")
    say = wire.a_text("What to say on court.")
    why = wire.a_text("Why it works.")
    because = wire.a_list(ReasonSchema, "Why now, in counts, strongest first.")
    rests_on = wire.a_list(RestsOnSchema, "The traits that it rests on; with `include=explanations`.", absent=True)
    worth = wire.a_part(
        WorthSchema, "What it is worth; absent for a line that sends no ball and so claims no gain.", absent=True
    )
    not_if = wire.a_text("When not to do it.")
    stop_when = wire.a_text("When to look again.")
    risk = wire.a_word(("low", "medium", "high"), "What can go wrong with it.")
    caution = wire.a_text("What must be said with it.", absent=True)
    targets = wire.a_list(TargetSchema, "Serve targets, where the tactic has some and the receiver's hand is known.")
    sources = wire.a_list(SourceLineSchema, "Who says so.")
    coaches_differ = wire.a_text("Both views, where coaches hold two.", absent=True)
    picture = wire.a_text(
        "The address of its place on the court as a picture (SVG); absent where it has none.",
        absent=True,
        of=lambda suggestion: picture_address(suggestion.tactic, suggestion.drawn_for),
    )
    court = wire.a_part(
        CourtNoteSchema,
        "A figure about court and ball, where the tactic rests on geometry; with `include=explanations`.",
        absent=True,
    )


class LookSchema(wire.Answer):
    """What to look for next."""

    what = wire.a_text("Id of the vocabulary.")
    asks = wire.a_text("The question to an onlooker.")
    how = wire.a_text("How to get to see it.")
    worth = wire.a_number(
        "What seeing it is worth, in the chance to win the match; 0 for a look that starts or confirms.",
        digits=GAIN_DIGITS,
    )
    decides = wire.texts(
        "Ids of the tactics between which it decides, at most two; none for a look of the starter set."
    )
    wing = wire.a_wing("The wing on which to look; absent where it does not matter.")


class HeldBackSchema(wire.Answer):
    """A tactic that matched and was held back."""

    tactic = wire.a_text("Id of the tactic.")
    reason = wire.a_word(HeldBack, "The sort of reason.")
    why = wire.a_text("The reason in words.")


class UnusedSchema(wire.Answer):
    """An accepted observation that moved nothing, or a free text that somebody must read."""

    observation = wire.a_place("Its place in the posted list; absent for a fact.", absent=True)
    ref = wire.a_text("The client's own id of it.", absent=True)
    what = wire.a_text("Id of the vocabulary.")
    why = wire.a_text("Why it moved nothing.")
    text = wire.a_text("The free text that no rule understands, else absent.", absent=True)


class ContributionSchema(wire.Answer):
    """What one kind of observation did to a belief."""

    text = wire.a_text("It in counts.")
    what = wire.a_text("Id of the vocabulary.")
    observations = wire.a_list(
        wire.a_place("A place in the posted list."), "The observations behind it; none for a profile item."
    )
    phase = wire.a_word(Phase, "When it was seen.")
    chances = wire.a_number("How many chances were seen.", digits=LOG_ODDS_DIGITS)
    log_odds = wire.a_number("What it added to the log-odds.", digits=LOG_ODDS_DIGITS)


class BeliefSchema(wire.Answer):
    """How likely a trait holds, and what moved it."""

    trait = wire.a_text("Id of the trait.")
    wing = wire.a_wing()
    probability = wire.a_chance("How likely it holds.", digits=CHANCE_DIGITS)
    prior = wire.a_chance("How likely it was before anything was seen.", digits=CHANCE_DIGITS)
    because = wire.a_list(ContributionSchema, "What moved it, strongest first.", of="contributions")


class SeenSchema(wire.Answer):
    """What was counted of the kind that shows a quality; 0 of 0 if only other kinds show it."""

    count = wire.a_number("Times it was so.", of="hits", digits=LOG_ODDS_DIGITS)
    of = wire.a_number("Chances.", of="chances", digits=LOG_ODDS_DIGITS)


class QualityEstimateSchema(wire.Answer):
    """What is known of one quality of a player, as a share, 0 to 1, of the kind of count that shows it best."""

    quality = wire.a_text("Id of the quality.")
    player = wire.a_word(("own", "opponent"), "Whose it is.")
    wing = wire.a_wing()
    what = wire.a_text("Id of the kind of count that shows it.")
    says = wire.a_text("What the share is a share of.")
    usual = wire.a_chance("The share of the usual player of the level.", digits=CHANCE_DIGITS)
    estimate = wire.a_chance("The share of this player, by all that was seen.", digits=CHANCE_DIGITS)
    low = wire.a_chance("8 in 10 such players have a share from here,", digits=CHANCE_DIGITS)
    high = wire.a_chance("to here.", digits=CHANCE_DIGITS)
    seen = wire.a_part(SeenSchema, of=wire.itself)


class ChangedSchema(wire.Answer):
    """What is not as it was at the advice before."""

    what = wire.a_word(("first", "belief", "play"), "The first suggestion, a belief, or the opponent's play.")
    text = wire.a_text("The change in words.")
    trait = wire.a_text("The trait whose belief changed.", absent=True)
    wing = wire.a_wing()
    before = wire.a_number("Probability or share then.", absent=True, digits=CHANCE_DIGITS)
    after = wire.a_number("Probability or share now.", absent=True, digits=CHANCE_DIGITS)
    observations = wire.a_list(wire.a_place("A place in the posted list."), "The observations that made it so.")


class SinceSchema(wire.Answer):
    """A game of the match."""

    set = wire.a_count("The set, counted from 1.", of=lambda game: game[0])
    game = wire.a_count("The game in it, counted from 1.", of=lambda game: game[1])


class PlanSchema(wire.Answer):
    """What is being played, what it won, and whether to keep it. Tries count since our switch and their last change."""

    tactic = wire.a_text("The tactic that is being played; absent: none was chosen or tried.", absent=True)
    since = wire.a_part(SinceSchema, "The game since which it is played; absent: not known.", absent=True)
    tried = wire.a_count("Points on which the tactic was carried out since then.")
    won = wire.a_count("Points won of them.")
    verdict = wire.a_word(Verdict, "Whether to keep, adjust or change it.")
    why = wire.a_text("The reason in counts, at most 25 words.")
    next = wire.a_text("The tactic to turn to if it is to be adjusted or changed.", absent=True)


class AdviceSchema(wire.Answer):
    """The answer. If the event permits no advice now, only safety and notice are filled."""

    advice_id = wire.an_id("Id of this answer.")
    moment = wire.a_word(Moment, "The moment asked about.")
    rulebook = wire.a_part(RulebookRefSchema, of=wire.itself)
    safety = wire.a_list(SafetySchema, "Safety lines; read them first.")
    plan = wire.a_part(PlanSchema, "The plan and the verdict on it; absent where no advice is given.", absent=True)
    score = wire.a_text("The next point in one line.", absent=True)
    suggestions = wire.a_list(
        SuggestionSchema,
        "Ranked: care and law, then what this point or break decides, then tactics by their gain, then reminders.",
    )
    look_for = wire.a_list(LookSchema, "What to look for next.")
    held_back = wire.a_list(HeldBackSchema, "What matched and was held back; with `include=held_back`.", absent=True)
    unused = wire.a_list(
        UnusedSchema,
        "With `include=unused` the observations that moved nothing, else free texts that somebody must read, if any.",
        absent=True,
    )
    beliefs = wire.a_list(
        BeliefSchema,
        "Every trait, one belief a wing, in the order of /v1/traits; with `include=beliefs`.",
        absent=True,
    )
    profile = wire.a_list(
        QualityEstimateSchema,
        "What is known of both players, the surest departures from the usual player first: each quality that something "
        "was seen of; with `include=profile`.",
        absent=True,
    )
    notice = wire.texts("What the reader must be told.")
    changed = wire.a_list(ChangedSchema, "What has changed since the advice in `previous`.")


SCOPE = "advise"
OF_ADVICE = frozenset(AdviceSchema._declared_fields)
EXPLANATIONS, PROFILE, UNUSED = "explanations", "profile", "unused"
PARTS = ("beliefs", PROFILE, "held_back", UNUSED, EXPLANATIONS)
OF_EXPLANATIONS = ("rests_on", "court")  # members of a suggestion
_PART = f"({'|'.join(PARTS)})"


class Include(fields.String):
    """Parts of the answer that are wanted too, as a set."""

    def __init__(self) -> None:
        expected = f"words of {', '.join(PARTS)}, with commas between"
        says = "Parts that are wanted too, words with commas between. Absent: none of them."
        super().__init__(
            error_messages=dict.fromkeys(("null", "invalid"), expected),
            metadata={"description": says, "pattern": f"^{_PART}(,{_PART})*$"},
        )

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        words = value.split(",")
        if not set(words) <= set(PARTS):
            raise self.make_error("invalid")
        return frozenset(words)


class AdviceQuery(wire.Shape):
    """How much of an advice is wanted."""

    include = Include()


def advice_body(advice: Advice, advice_id: str, include: Collection[str] = PARTS) -> dict[str, Any]:
    """Return the JSON of an advice, of PARTS those in `include`. What is withheld is empty or absent."""
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


def advised(posted: Situation, *, profile: bool) -> Advice:
    """Return the advice on a posted situation. Ends the request for an opponent unknown to the caller's club."""
    start = _begun(posted)
    return _told_apart(deployment().adviser.recommend(start.asked, profile=profile), start)


def traced(posted: Situation, tactic: str | None) -> Trace:
    """Return the same with its trace. Raises KeyError for an unknown tactic."""
    start = _begun(posted)
    trace = deployment().adviser.trace(start.asked, tactic)
    return replace(trace, advice=_told_apart(trace.advice, start))


def _begun(posted: Situation) -> SituationWithEarlier:
    """Look up the opponent; without one the database is not asked."""
    if posted.opponent_id is None:
        return SituationWithEarlier(posted)
    require(SCOPE)
    try:
        return begun(kept_services(), club_id(), posted)
    except Refused as refused:
        refuse(NOT_FOUND, faults=refused.faults)


def _told_apart(advice: Advice, start: SituationWithEarlier) -> Advice:
    told = told_apart(advice, start.asked)
    return replace(told, notice=(start.notice, *told.notice)) if start.notice else told


blueprint = Blueprint("suggestions", closable="advise")


@blueprint.route("/v1/suggestions", methods=["POST"])
@blueprint.arguments(SituationSchema)
@blueprint.arguments(AdviceQuery, location="query")
@blueprint.response(200, AdviceSchema, description="The advice.")
def suggest(situation: Situation, query: dict[str, Any]) -> Response:
    """Advise on a situation.

    Post what was seen; get ranked suggestions with reasons in counts, what each is worth, when to look again and who
    says so. Nothing is kept. The same body and rulebook give the same advice, `advice_id` aside. Where it names a kept
    opponent, what was learned in earlier matches counts too and is marked as such. Safety comes before tactics. Where
    the event does not permit coaching or a device at this moment, only safety and a notice are shown.
    """
    include = query.get("include", ())
    return answer(advice_body(advised(situation, profile=PROFILE in include), str(uuid.uuid4()), include))


VERDICTS = ("suggested", "held-back", "not-shown", "no-match")


class ExplanationQuery(wire.Shape):
    """What is asked about."""

    tactic = fields.String(
        validate=Length(1, 100, error="the id of a tactic"),
        metadata={"description": "Id of the tactic asked about. Absent: all of them."},
    )


class FactSchema(wire.Answer):
    """One fact that the rules were matched against."""

    id = wire.a_text("Its id within this answer.")
    kind = wire.a_word(FactKind, "What it speaks of.")
    name = wire.a_text("Its name.")
    fields_ = fields.Dict(
        keys=fields.String(),
        required=True,
        data_key="fields",
        metadata={"description": "Whole numbers and words; a probability or share stands in thousandths."},
    )
    observations = wire.a_list(wire.a_place("A place in the posted list."), "The observations that it rests on.")


class FiredSchema(wire.Answer):
    """A rule that fired."""

    rule = wire.a_text(
        "Id of the rule: tactic, candidate, unless or circumstance, the id, and the number of the alternative.",
        of=lambda fired: fired[0].rule,
    )
    facts = wire.texts(
        "Ids of the facts that it matched, in the order of its conditions.", of=lambda fired: fired[0].facts
    )
    derives = wire.a_text(
        "The circumstance that it proves.", absent=True, of=lambda fired: fired[1].rules[fired[0].rule].derives
    )


class TacticVerdictSchema(wire.Answer):
    """Why a tactic was suggested, or why not."""

    tactic = wire.a_text("Id of the tactic.")
    verdict = wire.a_word(VERDICTS, "What became of it.")
    why = wire.a_text("The reason in words.")
    unmet = wire.texts("What its nearest alternative still needs.")
    chain = wire.texts("From the rule that fired back to what was posted.")
    price = wire.texts("What its price comes to in this situation, term by term; empty for a line that sends no ball.")


def _fired(trace: Trace) -> list[tuple[RuleMatch, Trace]]:
    return [(match, trace) for match in trace.inference.matches]


class ExplanationSchema(AdviceSchema):
    """The advice and everything behind it."""

    engine = wire.a_text("What matched the rules: durable-rules, or the evaluator in its place.", of="inference.engine")
    facts = wire.a_list(FactSchema, "Every fact, derived ones included.")
    fired = wire.a_list(FiredSchema, "Every rule that fired.", of=_fired)
    why = wire.a_list(TacticVerdictSchema, "For the tactic asked about, or for all: why or why not.", of="questions")


@blueprint.route("/v1/explanations", methods=["POST"])
@blueprint.arguments(SituationSchema)
@blueprint.arguments(ExplanationQuery, location="query")
@blueprint.response(200, ExplanationSchema, description="The advice and its trace.")
def explain(situation: Situation, query: dict[str, Any]) -> Response:
    """Explain the advice on a situation.

    The same body as for suggestions. The answer adds each fact, each rule that fired with the facts that it matched,
    and for one tactic, or for all, why it was suggested or what is the nearest thing that kept it from speaking.
    Only safety is traced if only safety may be shown.
    """
    tactic = query.get("tactic")
    if tactic is not None and tactic not in deployment().rulebook.tactics:
        refuse(INVALID_QUERY, faults=[Fault(("tactic",), tactic, "the id of a tactic, see /v1/tactics")])
    trace = traced(situation, tactic)
    advice = advice_body(trace.advice, str(uuid.uuid4()))
    return answer({**advice, **ExplanationSchema.written(trace, without=OF_ADVICE)})
