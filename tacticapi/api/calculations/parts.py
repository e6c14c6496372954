"""What calculations share: when one is asked for, what the event permits, court and ball, the notices."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError, fields, validates_schema

from tacticapi.advice.safety import permission_notices, withheld
from tacticapi.api.http.fields import (
    Answer,
    Real,
    Shape,
    Word,
    Yes,
    a_list,
    part,
    texts,
)
from tacticapi.api.situations import messages
from tacticapi.api.suggestions import SafetySchema
from tacticapi.court import Shot
from tacticapi.court.numbers import place_of, said_or_usual
from tacticapi.court.shot import Place, Spot
from tacticapi.domain.terms import Coaching, Device, Moment
from tacticapi.rulebook.files import Fault
from tacticapi.rulebook.load import court_numbers

AGE_BANDS = ("U12", "U14", "U18", "open", "35+", "50+", "60+", "70+")
NO_PROMISE = "Calculated by a model from what was posted: no promise, and not for betting."
BESIDE = ("safety", "notice")


@dataclass(frozen=True, slots=True)
class Occasion:
    """When a calculation is asked for (no moment: while planning) and what the event permits."""

    moment: Moment | None = None
    coaching: Coaching = Coaching.UNKNOWN
    device: Device = Device.UNKNOWN
    ages: tuple[str, ...] = ()


class EventSchema(Shape):
    """What the event permits, and for whom it is."""

    coaching = Word(Coaching, says="When the event permits coaching.", default=Coaching.UNKNOWN)
    device = Word(Device, says="Who may consult a device.", default=Device.UNKNOWN)
    age_band = Word(AGE_BANDS, says="Age band of the event. Absent: unknown.")


class OccasionSchema(Shape):
    """The part of a body that says when it is asked."""

    moment = Word(Moment, says="When it is asked. Absent: while planning, outside a match.")
    context = part(EventSchema, says="What the event permits. Absent: unknown.")


def occasion(data: Mapping[str, Any]) -> Occasion:
    """The occasion of a loaded body."""
    event = data.get("context") or {}
    return Occasion(
        Moment(data["moment"]) if data.get("moment") else None,
        Coaching(event.get("coaching") or Coaching.UNKNOWN),
        Device(event.get("device") or Device.UNKNOWN),
        (event["age_band"],) if event.get("age_band") else (),
    )


def framed(
    asked: Occasion, shape: type[Shape], calculate: Callable[[], dict[str, Any]], notices: Iterable[str] = ()
) -> dict[str, Any]:
    """The answer with its notices; where the event does not permit it now, nothing is calculated and all is null."""
    if why := withheld(asked):
        nothing = dict.fromkeys(name for name in shape().fields if name not in BESIDE)
        return {"safety": [], **nothing, "notice": [why]}
    return {"safety": [], **calculate(), "notice": [*permission_notices(asked), *notices, NO_PROMISE]}


COURT_NUMBERS = court_numbers()
MAX_COUNTED = 10_000
FAR_SIDE, FAR_BACK = 8.0, 18.0  # metres from the middle and from the net within which anything is asked
PACES = tuple(COURT_NUMBERS["surfaces"])
HANDS = ("right", "left")
MODEL = "Numbers that were not posted are model defaults of this service, or the law; rules/court.yaml says which."


def number(section: str, name: str, says: str) -> Real:
    """A number of the table, within its bounds; the description tells the usual value."""
    known = COURT_NUMBERS[section][name] if name else COURT_NUMBERS[section]
    return Real(known["low"], known["high"], says=f"{says} Absent: {known['value']:g} ({known['status']}).")


class GroundSchema(Shape):
    """A spot on the ground: metres to your right of the middle, and beyond the net (minus: your half)."""

    x = Real(-FAR_SIDE, FAR_SIDE, required=True, says="Metres from the middle, positive to your right.")
    y = Real(-FAR_BACK, FAR_BACK, required=True, says="Metres from the net, negative on your half.")


class OwnSpotSchema(GroundSchema):
    """A spot on your half."""

    y = Real(-FAR_BACK, -0.5, required=True, says="Metres from the net, negative: your half.")


class TheirSpotSchema(GroundSchema):
    """A spot on the opposite half."""

    y = Real(0.2, FAR_BACK, required=True, says="Metres from the net: the opposite half.")


class ContactSchema(OwnSpotSchema):
    """Where you strike the ball."""

    height_m = number("shot", "height_m", "Height of the contact.")


class CountedSchema(Shape):
    """So many of so many."""

    count = Real(0, MAX_COUNTED, required=True, says="How many it was.")
    of = Real(0, MAX_COUNTED, required=True, says="Out of how many.")

    @validates_schema
    def part_of_all(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        """Refuse more than there were."""
        if data["count"] > data["of"]:
            raise ValidationError(messages([Fault(("count",), data["count"], f"at most {data['of']:g}, as in of")]))


class AirSchema(Shape):
    """The air, which drags less where it is warm or high."""

    temperature_c = number("air", "temperature_c", "Degrees Celsius.")
    altitude_m = number("air", "altitude_m", "Metres above the sea.")


class MovementSchema(Shape):
    """How a player moves who has to reach a ball."""

    reaction_s = number("movement", "reaction_s", "Seconds from the hit to the first step.")
    acceleration_mps2 = number("movement", "acceleration_mps2", "Metres a second squared.")
    top_speed_mps = number("movement", "top_speed_mps", "Metres a second.")
    reach_m = number("movement", "reach_m", "Metres that arm and racket cover without a step.")


class WhereSchema(Shape):
    """Where it is played."""

    air = part(AirSchema, says="The air. Absent: as usual.")
    pace = Word(PACES, says="The court's pace.", default=COURT_NUMBERS["usual_surface"])
    sticks = Yes(says="Whether singles sticks, or the posts of a singles net, hold the net up.", default=True)


def where(data: dict[str, Any]) -> Place:
    """The place of a loaded body."""
    played = data.get("where") or {}
    return place_of(COURT_NUMBERS, played.get("air"), played.get("pace"), played.get("sticks") is not False)


def spot(data: dict[str, Any]) -> Spot:
    """A loaded spot, metres."""
    return data["x"], data["y"]


def where_part() -> fields.Nested:
    """The part of a body that says where it is played."""
    return part(WhereSchema, says="Air, court and net. Absent: as usual.")


class StrokeSchema(Shape):
    """A stroke of yours."""

    contact = part(ContactSchema, required=True, says="Where you strike it.")
    target = part(TheirSpotSchema, required=True, says="Where it is to land.")
    speed_mps = number("shot", "speed_mps", "Speed off the strings, metres a second.")
    topspin_rpm = number("shot", "topspin_rpm", "Topspin, revolutions a minute; negative for slice.")
    sidespin_rpm = number("shot", "sidespin_rpm", "Sidespin, revolutions a minute; positive bends to its own right.")
    high = Yes(says="Whether it goes over the top, as a lob, where two ways lead to the target.", default=False)


def stroke(data: dict[str, Any], **more: Any) -> Shot:
    """The stroke of a loaded body."""
    contact = data["contact"]
    height = said_or_usual(COURT_NUMBERS, "shot", "height_m", contact)
    speed, topspin, sidespin = (
        said_or_usual(COURT_NUMBERS, "shot", name, data) for name in ("speed_mps", "topspin_rpm", "sidespin_rpm")
    )
    at = (*spot(contact), height)
    return Shot(at, spot(data["target"]), speed, topspin, sidespin, high=data.get("high") is True, **more)


class CalculationSchema(Answer):
    """What stands beside every calculation."""

    safety = a_list(SafetySchema, "Safety lines; none, as nothing that is posted here could call for one.")
    notice = texts("What the reader must be told.")

    @classmethod
    def calculated(cls, result: Any) -> dict[str, Any]:
        """Return what was calculated, without what stands beside it."""
        members = cls.written(result, **dict.fromkeys(BESIDE))
        return {name: value for name, value in members.items() if name not in BESIDE}
