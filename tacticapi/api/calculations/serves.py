"""The body of a serve mix: what was counted on each side of the court."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError, post_load, validates_schema

from tacticapi.advice.suggestions import COURTS
from tacticapi.api.calculations.occasion import Occasion, OccasionSchema, occasion
from tacticapi.api.fields import Items, Real, Text, Whole, Word, part
from tacticapi.api.shapes import Shape
from tacticapi.api.situations.messages import messages
from tacticapi.api.situations.parts import MOST_POINTS, WonOfSchema
from tacticapi.api.strict_json import LARGEST
from tacticapi.knowledge import Fault
from tacticapi.pricing.serve_mix import CourtServes, Served, Server, Serves, SpotCounts

SPOTS = ("wide", "body", "T")
HANDS = ("right", "left", "both")
SERVERS = ("own", "opponent")
MOST_SERVES = 200
LONGEST_SCORE = 20
_SCORES = "For each serve of `sequence` a word for its score, or null. Absent: scores are not told apart."


@dataclass(frozen=True, slots=True)
class ServesAsked:
    """Counted serves of both courts, the receiver's hand where known, and what fixes the order."""

    occasion: Occasion
    courts: tuple[CourtServes, ...]
    receiver: str | None = None
    seed: int | None = None
    server: Server = "own"


class SpotServesSchema(Shape):
    """Points won out of serves, by spot."""

    wide = part(WonOfSchema, says="Serves aimed wide. Absent: none.")
    body = part(WonOfSchema, says="Serves aimed at the body. Absent: none.")
    T = part(WonOfSchema, says="Serves aimed at the T. Absent: none.")


class SpotsSchema(SpotServesSchema):
    """The spots to mix. Leave out body where you do not serve there; not yet served is 0 won of 0."""

    wide = part(WonOfSchema, required=True, says="Serves aimed wide.")
    T = part(WonOfSchema, required=True, says="Serves aimed at the T.")


class LeansSchema(Shape):
    """How often the receiver leaned to each spot; a neutral stance counts a part for each."""

    wide = Real(0, MOST_POINTS, says="Leanings to the wide serve. Absent: none.")
    body = Real(0, MOST_POINTS, says="Leanings to the body. Absent: none.")
    T = Real(0, MOST_POINTS, says="Leanings to the T. Absent: none.")


class ByLeanSchema(Shape):
    """Serves to each spot by where the receiver leaned."""

    wide = part(SpotServesSchema, says="Serves aimed wide, by leaning. Absent: none.")
    body = part(SpotServesSchema, says="Serves aimed at the body, by leaning. Absent: none.")
    T = part(SpotServesSchema, says="Serves aimed at the T, by leaning. Absent: none.")


class CourtSchema(Shape):
    """What was counted on one side. Count the whole point under the spot aimed at, with the same serve throughout."""

    spots = part(SpotsSchema, required=True, says="Points won by spot, of serves not counted in `by_lean`.")
    leans = part(LeansSchema, says="Where the receiver leaned, whatever the serve was. Absent: not counted.")
    by_lean = part(ByLeanSchema, says="Serves whose leaning was noted; none stands in `spots` as well. Absent: none.")
    sequence = Items(
        Word(SPOTS, required=True), MOST_SERVES, says="The spots in the order served. Absent: no pattern is looked for."
    )
    scores = Items(Text(LONGEST_SCORE), MOST_SERVES, says=_SCORES)

    @validates_schema
    def one_set_of_spots(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse spots that are not mixed, and scores that do not go with the sequence."""
        known = [spot for spot in SPOTS if data["spots"].get(spot) is not None]
        expected = f"one of {', '.join(known)}, the names in `spots`"
        found = [Fault(path, None, expected) for path in _unmixed(data, known)]
        sequence, scores = data.get("sequence") or [], data.get("scores") or []
        if scores and len(scores) != len(sequence):
            found.append(Fault(("scores",), scores, f"as many as the {len(sequence)} in sequence"))
        if found:
            raise ValidationError(messages(found))

    @post_load
    def counted(self, data: dict[str, Any], **kwargs: Any) -> tuple[SpotCounts, tuple[Served, ...]]:
        """Counts and sequence of one side."""
        spots = tuple(spot for spot in SPOTS if data["spots"].get(spot) is not None)
        by_lean = {spot: _serves(cells) for spot, cells in _given(data.get("by_lean")).items()}
        counts = SpotCounts(spots, _serves(data["spots"]), _given(data.get("leans")), by_lean)
        sequence = data.get("sequence") or []
        scores = data.get("scores") or [None] * len(sequence)
        return counts, tuple(Served(spot, score) for spot, score in zip(sequence, scores, strict=True))


class CourtsSchema(Shape):
    """The two sides of the court served into."""

    deuce = part(CourtSchema, says="The deuce court. Absent: not asked for.")
    ad = part(CourtSchema, says="The ad court. Absent: not asked for.")

    @validates_schema
    def some_court(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse a question about no court."""
        if not _given(data):
            raise ValidationError(f"at least one of {' and '.join(COURTS)}")


class ServeMixQuestionSchema(OccasionSchema):
    """Counted serves. Loads into ServesAsked."""

    courts = part(CourtsSchema, required=True, says="What was counted, by the court served into.")
    server = Word(SERVERS, says="Whose serves were counted; points are won by the server. Absent: own.")
    receiver_handedness = Word(HANDS, says="The receiver's playing hand. Absent: unknown, no wing is named.")
    seed = Whole(0, LARGEST, says="The same seed gives the same order. Absent: a new order each time.")

    @post_load
    def asked(self, data: dict[str, Any], **kwargs: Any) -> ServesAsked:
        """The body as it is calculated on."""
        courts = tuple(CourtServes(name, *data["courts"][name]) for name in COURTS if data["courts"].get(name))
        return ServesAsked(
            occasion(data), courts, data.get("receiver_handedness"), data.get("seed"), data.get("server") or "own"
        )


def _unmixed(data: Mapping[str, Any], known: list[str]) -> Iterator[tuple[str | int, ...]]:
    """Every place that names a spot which is not mixed."""
    by_lean = _given(data.get("by_lean"))
    named = [("leans", spot) for spot in _given(data.get("leans"))] + [("by_lean", spot) for spot in by_lean]
    cells = [("by_lean", spot, lean) for spot, leans in by_lean.items() if spot in known for lean in _given(leans)]
    served = [("sequence", place, spot) for place, spot in enumerate(data.get("sequence") or ())]
    yield from (path for path in [*named, *cells] if path[-1] not in known)
    yield from ((name, place) for name, place, spot in served if spot not in known)


def _given(data: Mapping[str, Any] | None) -> dict[str, Any]:
    return {name: value for name, value in (data or {}).items() if value is not None}


def _serves(data: Mapping[str, Any]) -> dict[str, Serves]:
    return {spot: Serves(cell["won"], cell["of"]) for spot, cell in _given(data).items()}
