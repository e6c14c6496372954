"""Calculate the serve mix for each court, and how predictable the serves so far are."""

from collections.abc import Iterator, Mapping
from typing import Any, get_args

from marshmallow import ValidationError, fields, post_load, validates_schema

from tacticapi.advice.suggestions import serve_targets
from tacticapi.api.calculations.parts import CalculationSchema, OccasionSchema, Question
from tacticapi.api.calculations.score import IntervalSchema
from tacticapi.api.http import fields as wire
from tacticapi.api.situations import MAX_POINTS, WonOfSchema, messages
from tacticapi.domain.situation import Wing
from tacticapi.evidence.spots import COURTS
from tacticapi.posted import MAX_NUMBER
from tacticapi.pricing.predictability import Kind
from tacticapi.pricing.serve_mix import CourtMix, CourtServes, MixModel, Serves, SpotCounts, court_mix
from tacticapi.rulebook.files import Fault
from tacticapi.scoring.formats import SIDES

SPOTS = ("wide", "body", "T")
HANDS = ("right", "left", "both")
MAX_SERVES = 200
MAX_SCORE_LENGTH = 20
_SCORES = "For each serve in `sequence`, a word for the score, or null. Default: scores are not distinguished."


AIMED = {"wide": "Serves aimed wide", "body": "Serves aimed at the body", "T": "Serves aimed at the T"}


class SpotServesSchema(wire.Shape):
    """Points won out of serves, by spot."""

    vars().update({spot: wire.part(WonOfSchema, says=f"{aim}. Omit if none.") for spot, aim in AIMED.items()})


class SpotsSchema(SpotServesSchema):
    """The spots to mix. Omit `body` if you never serve there; post 0 won of 0 for a spot not served to yet."""

    wide = wire.part(WonOfSchema, required=True, says="Serves aimed wide.")
    T = wire.part(WonOfSchema, required=True, says="Serves aimed at the T.")


class LeansSchema(wire.Shape):
    """The receiver's leans, counted by spot; a neutral position counts partly for each."""

    wide = wire.Real(0, MAX_POINTS, says="Times the receiver leaned to the wide serve. Omit if none.")
    body = wire.Real(0, MAX_POINTS, says="Times the receiver leaned to the body. Omit if none.")
    T = wire.Real(0, MAX_POINTS, says="Times the receiver leaned to the T. Omit if none.")


class ByLeanSchema(wire.Shape):
    """Serves to each spot by where the receiver leaned."""

    vars().update({spot: wire.part(SpotServesSchema, says=f"{aimed}. Omit if none.") for spot, aimed in AIMED.items()})


class CourtSchema(wire.Shape):
    """Counts for one side. Count each point under the spot aimed at; count only first serves or only second serves."""

    spots = wire.part(SpotsSchema, required=True, says="Points won per spot, for serves not counted in `by_lean`.")
    leans = wire.part(LeansSchema, says="Where the receiver leaned, on any serve. Omit if not counted.")
    by_lean = wire.part(ByLeanSchema, says="Serves on which a lean was noted, not counted in `spots`. Omit if none.")
    sequence = wire.Items(wire.Word(SPOTS, required=True), MAX_SERVES, says="Spots in serving order. Omit if unknown.")
    scores = wire.Items(wire.Text(MAX_SCORE_LENGTH), MAX_SERVES, says=_SCORES)

    @validates_schema
    def one_set_of_spots(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse spots outside the mix, and scores that do not match the sequence."""
        known = [spot for spot in SPOTS if spot in data["spots"]]
        expected = f"one of {', '.join(known)}, the names in `spots`"
        found = [Fault(path, None, expected) for path in _unmixed(data, known)]
        sequence, scores = data.get("sequence", []), data.get("scores", [])
        if scores and len(scores) != len(sequence):
            found.append(Fault(("scores",), scores, f"as many items as sequence has ({len(sequence)})"))
        if found:
            raise ValidationError(messages(found))

    @post_load
    def counted(self, data: dict[str, Any], **kwargs: Any) -> tuple[SpotCounts, tuple[str, ...], tuple[str, ...]]:
        """Return the counts, sequence and scores for one side."""
        spots = tuple(spot for spot in SPOTS if spot in data["spots"])
        by_lean = {spot: _serves(cells) for spot, cells in data.get("by_lean", {}).items()}
        counts = SpotCounts(spots, _serves(data["spots"]), data.get("leans", {}), by_lean)
        return counts, tuple(data.get("sequence", ())), tuple(data.get("scores", ()))


class CourtsSchema(wire.Shape):
    """The two service courts."""

    deuce = wire.part(CourtSchema, says="The deuce court. Omit if not wanted.")
    ad = wire.part(CourtSchema, says="The ad court. Omit if not wanted.")

    @validates_schema
    def some_court(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse a body without a court."""
        if not data:
            raise ValidationError(f"at least one of {' and '.join(COURTS)}")


class ServeMixQuestionSchema(OccasionSchema):
    """Counted serves."""

    courts = wire.part(CourtsSchema, required=True, says="The counts, by the court served into.")
    server = wire.Word(SIDES, says="Whose serves were counted; points are won by the server. Default: own.")
    receiver_handedness = wire.Word(HANDS, says="The receiver's playing hand. Omit if unknown; then no wing is named.")
    seed = wire.Whole(0, MAX_NUMBER, says="The same seed gives the same order. Default: a new order each time.")

    def complete(self, query: Question) -> None:
        """Put the courts in order."""
        query.courts = tuple(CourtServes(name, *query.courts[name]) for name in COURTS if name in query.courts)


def _unmixed(data: Mapping[str, Any], known: list[str]) -> Iterator[tuple[str | int, ...]]:
    by_lean = data.get("by_lean", {})
    named = [("leans", spot) for spot in data.get("leans", ())] + [("by_lean", spot) for spot in by_lean]
    cells = [("by_lean", spot, lean) for spot, leans in by_lean.items() if spot in known for lean in leans]
    served = [("sequence", place, spot) for place, spot in enumerate(data.get("sequence", ()))]
    yield from (path for path in [*named, *cells] if path[-1] not in known)
    yield from ((name, place) for name, place, spot in served if spot not in known)


def _serves(data: Mapping[str, Any]) -> dict[str, Serves]:
    return {spot: Serves(cell["won"], cell["of"]) for spot, cell in data.items()}


DEFAULTS = "Numbers without counts are model defaults of this service, not measured results."


def mixes(query: Question, defaults: Mapping[str, Any]) -> dict[str, Any]:
    """Return the mix for each court, unrounded; courts that were not posted are absent."""
    wings = {(t.court, t.spot): t.wing.value for wing in Wing for t in serve_targets(query.receiver_handedness, wing)}
    model = MixModel(**defaults["serve_mix"])
    found = (court_mix(one, model, query.seed, query.server or "own") for one in query.courts)
    return {"courts": {mix.court: _court(mix, wings) for mix in found}}


def _court(mix: CourtMix, wings: Mapping[tuple[str, str], str]) -> dict[str, Any]:
    spots = [SpotMixSchema.written(spot, wing=wings.get((mix.court, spot.spot))) for spot in mix.advice.spots]
    by_score = [{"score": score, **PatternSchema.written(verdict)} for score, verdict in mix.by_score.items()]
    return CourtMixSchema.written(mix, tenths=mix.tenths, spots=spots, by_score=by_score)


class TenthsSchema(wire.Answer):
    """Serves out of ten."""

    wide = fields.Integer()
    body = fields.Integer()
    T = fields.Integer()


class SpotMixSchema(wire.Answer):
    """One spot in the mix."""

    spot = wire.a_word(SPOTS, "The spot.")
    wing = wire.a_word(Wing, "The wing that a serve there goes to, if there is one and the hand is known.", absent=True)
    share = wire.a_chance("The spot's share of the serves.")
    low = wire.a_chance("10th percentile of the best share.")
    high = wire.a_chance("90th percentile of the best share.")
    wins = wire.a_chance("Chance of winning the point on a serve there, against the expected lean.")
    concedes = wire.a_number("How much lower that chance is than at the best spot.")
    if_always = wire.a_number("What you lose by always serving there, against a receiver who has noticed.")


class PatternSchema(wire.Answer):
    """Tests for patterns in the order of serves."""

    verdict = wire.a_word(get_args(Kind), "too-few: too few to show a pattern; no-sign proves nothing.", of="kind")
    spot = wire.a_word(SPOTS, "The favourite spot, if there is one.", absent=True)
    p_value = wire.a_chance("Chance of a result this striking without any pattern, corrected for the number of tests.")
    served = wire.a_count("Number of serves tested.")
    needed = wire.a_count("Minimum number of serves that could show a pattern.")
    needed_for_switching = wire.a_count("The same minimum for changes of spot; absent if not tested.", absent=True)


class PatternAtScoreSchema(PatternSchema):
    """A test for a favourite spot at one score."""

    score = wire.a_text("The word for the score, as posted.")


class AfterSchema(wire.Answer):
    """Repeat serves to one spot."""

    spot = wire.a_word(SPOTS, "The spot.")
    again = wire.a_count("Serves there that came right after one there.")
    of = wire.a_count("All serves that came right after one there.")
    share = wire.a_number("Their share; absent if there are no serves.", absent=True)
    by_chance = wire.a_number("The average share without any pattern.", absent=True)
    p_value = wire.a_chance("Chance of a share this far from the average without any pattern.")


class CourtMixSchema(wire.Answer):
    """The mix for one side of the court, unrounded."""

    tenths = wire.a_part(TenthsSchema, "The mix in serves out of ten.")
    order = wire.a_list(wire.a_word(SPOTS, "A spot."), "An order for the next ten serves.")
    value = wire.a_part(
        IntervalSchema,
        "Your chance of winning a point with this mix.",
        of=lambda mix: (mix.advice.value, mix.advice.value_low, mix.advice.value_high),
    )
    if_read = wire.a_chance("The same chance against a receiver who knows the mix.", of="advice.floor")
    lean_weight = wire.a_chance("Weight given to the counted leans.", of="advice.trust")
    past_gives = wire.a_number(
        "What past serves give away; absent if there are none.", absent=True, of="advice.past_gives"
    )
    spots = wire.a_list(SpotMixSchema, "Each spot in the mix.")
    pattern = wire.a_part(PatternSchema, "Whether the order gives you away; absent if none.", absent=True, of="verdict")
    by_score = wire.a_list(PatternAtScoreSchema, "Whether there is a favourite at each posted score.")
    after = wire.a_list(AfterSchema, "Repeat serves by spot; empty without a sequence.")
    notes = wire.texts("What the mix is based on, in plain sentences.")


class CourtMixesSchema(wire.Answer):
    """The mix by court."""

    deuce = wire.a_part(CourtMixSchema, "The deuce court; absent if it was not posted.", absent=True)
    ad = wire.a_part(CourtMixSchema, "The ad court; absent if it was not posted.", absent=True)


class ServeMixSchema(CalculationSchema):
    """The serve mix for each court."""

    courts = wire.a_part(CourtMixesSchema, "The mix by court.", absent=True)
