"""Define what calculations share: the moment, permissions, court and ball, and notices."""

from collections.abc import Callable, Iterable
from types import SimpleNamespace
from typing import Any

from marshmallow import fields, post_load

from tacticapi.advice.safety import permission_notices, withheld
from tacticapi.api.advice import SafetySchema
from tacticapi.api.http import fields as wire
from tacticapi.court.flight import Region, air_density
from tacticapi.court.shot import Place, Shot, Spot
from tacticapi.court.standing import Mover, ball_of, surface_of
from tacticapi.domain.situation import Coaching, Device, Moment
from tacticapi.rulebook.files import Fault
from tacticapi.rulebook.load import court_numbers

AGE_BANDS = ("U12", "U14", "U18", "open", "35+", "50+", "60+", "70+")
NO_PROMISE = "A model's result from what was posted: not a promise, and not for betting."


class Question(SimpleNamespace):
    """A parsed body: its members (None if not posted) and what the event permits."""

    moment: Moment | None
    coaching: Coaching
    device: Device
    ages: tuple[str, ...]


def filled(schema: wire.Shape, says: str) -> fields.Nested:
    """Describe an object that defaults to an empty object, with the usual values."""
    return wire.part(schema, says=says, default=lambda: schema.load({}))


class EventSchema(wire.Shape):
    """The event's permissions and age band."""

    coaching = wire.Word(Coaching, says="When the event permits coaching.", default=Coaching.UNKNOWN)
    device = wire.Word(Device, says="Who may consult a device.", default=Device.UNKNOWN)
    age_band = wire.Word(AGE_BANDS, says="Age band of the event. Omit if unknown.")


class OccasionSchema(wire.Shape):
    """The moment of the request and what the event permits. Loads into a Question."""

    moment = wire.Word(Moment, says="The moment of the request. Default: while planning, outside a match.")
    context = filled(EventSchema(), "What the event permits. Omit if unknown.")

    @post_load
    def asked(self, data: dict[str, Any], **kwargs: Any) -> Question:
        """Return the body as a Question."""
        event, moment = data.pop("context"), data.get("moment")
        query = Question(**{**dict.fromkeys(self.fields), **data})
        query.moment = Moment(moment) if moment else None
        query.coaching, query.device = Coaching(event["coaching"]), Device(event["device"])
        query.ages = (event["age_band"],) if "age_band" in event else ()
        self.complete(query)
        return query

    def complete(self, query: Question) -> None:
        """Add to the question what follows from its members."""


MAX_COUNTED = 10_000
FAR_SIDE, FAR_BACK = 8.0, 18.0  # limits for posted places: metres from the middle and from the net
MODEL = "Numbers not posted are model defaults of this service or from the rules of tennis; see rules/court.yaml."


def usual(section: str, name: str) -> float:
    """Return a number's usual value from the table."""
    return float(court_numbers()[section][name]["value"])


def number(section: str, name: str, says: str) -> wire.Real:
    """Describe a number from the court and ball table; it defaults to the usual value."""
    known = court_numbers()[section]
    known = known[name] if name else known
    usual = float(known["value"])
    says = f"{says} Default: {usual:g} ({known['status']})."
    return wire.Real(known["low"], known["high"], says=says, default=lambda: usual)


def choice(among: str, usual: str, says: str) -> wire.Word:
    """Describe a word from the table."""
    return wire.Word(court_numbers()[among], says=says, default=court_numbers()[usual])


class GroundSchema(wire.Shape):
    """A spot on the ground: metres to the right of the middle, and metres beyond the net (negative on your side)."""

    x = wire.Real(-FAR_SIDE, FAR_SIDE, required=True, says="Metres from the middle, positive to your right.")
    y = wire.Real(-FAR_BACK, FAR_BACK, required=True, says="Metres from the net, negative on your side.")

    @post_load
    def spot(self, data: dict[str, Any], **kwargs: Any) -> Any:
        """Return the spot in metres, with its height if it has one."""
        return tuple(data.values())


class TheirSpotSchema(GroundSchema):
    """A spot on the opponent's side."""

    y = wire.Real(0.2, FAR_BACK, required=True, says="Metres from the net, on the opponent's side.")


class ContactSchema(GroundSchema):
    """Where you strike the ball."""

    y = wire.Real(-FAR_BACK, -0.5, required=True, says="Metres from the net, negative on your side.")
    height_m = number("shot", "height_m", "Height of the contact point.")


class AirSchema(wire.Shape):
    """The air; warm or thin air slows a ball less."""

    temperature_c = number("air", "temperature_c", "Degrees Celsius.")
    altitude_m = number("air", "altitude_m", "Metres above sea level.")


class MovementSchema(wire.Shape):
    """A player's movement to the ball."""

    reaction_s = number("movement", "reaction_s", "Seconds from the hit to the first step.")
    acceleration_mps2 = number("movement", "acceleration_mps2", "Acceleration, metres per second squared.")
    top_speed_mps = number("movement", "top_speed_mps", "Top speed, metres per second.")
    reach_m = number("movement", "reach_m", "Reach of arm and racket without a step, in metres.")

    @post_load
    def mover(self, data: dict[str, Any], **kwargs: Any) -> Mover:
        """Return the player who moves like this."""
        return Mover(data["reaction_s"], data["acceleration_mps2"], data["top_speed_mps"], data["reach_m"])


class WhereSchema(wire.Shape):
    """The conditions of play."""

    air = filled(AirSchema(), "The air. Default: the usual values.")
    pace = choice("surfaces", "usual_surface", "The court's pace.")
    sticks = wire.StrictBoolean(says="Whether singles sticks or posts hold the net up.", default=True)

    @post_load
    def place(self, data: dict[str, Any], **kwargs: Any) -> Place:
        """Return the conditions of play."""
        court = court_numbers()
        surface, air = surface_of(court, data["pace"]), air_density(**data["air"])
        return Place(ball_of(court), air, surface, data["sticks"])


WHERE = filled(WhereSchema(), "Air, court and net. Default: the usual values.")


class StrokeSchema(wire.Shape):
    """Your stroke."""

    contact = wire.part(ContactSchema, required=True, says="Where you strike it.")
    target = wire.part(TheirSpotSchema, required=True, says="Where the ball should land.")
    speed_mps = number("shot", "speed_mps", "Speed off the strings, metres per second.")
    topspin_rpm = number("shot", "topspin_rpm", "Topspin, revolutions per minute; negative for slice.")
    sidespin_rpm = number("shot", "sidespin_rpm", "Sidespin, revolutions per minute; positive curves to its right.")
    high = wire.StrictBoolean(says="Whether the ball takes the higher of two paths, as a lob does.", default=False)


def stroke(query: Question, **more: Any) -> Shot:
    """Return the stroke in a question."""
    turning = (query.speed_mps, query.topspin_rpm, query.sidespin_rpm)
    return Shot(query.contact, query.target, *turning, high=query.high, **more)


def outside(into: Region, target: Spot, *, sided: bool = False) -> list[Fault]:
    """Return faults for a target outside its region or, if it must be on one side, in the middle."""
    x, y = target
    found = []
    if not into.left <= x <= into.right or (sided and x == 0):
        place = "on one side of the middle" if sided else "inside the lines"
        found.append(Fault(("target", "x"), x, f"a number from {into.left:g} to {into.right:g}, {place}"))
    if y > into.back:
        found.append(Fault(("target", "y"), y, f"a number from 0.2 to {into.back:g}, inside the lines"))
    return found


class CalculationSchema(wire.Answer):
    """A calculation's result: the members that all results share."""

    safety = wire.a_list(SafetySchema, "Safety lines; always empty, since no input here can call for one.")
    notice = wire.texts("Notices for the reader.")

    @classmethod
    def framed(cls, asked: Question, calculate: Callable[[], Any], notices: Iterable[str] = ()) -> dict[str, Any]:
        """Return the result of `calculate` with its notices; if it is not permitted now, only safety and a notice."""
        if why := withheld(asked):
            return {"safety": [], "notice": [why]}
        result, notice = calculate(), [*permission_notices(asked), *notices, NO_PROMISE]
        members = result if isinstance(result, dict) else {}
        return cls.written(result, **members, safety=[], notice=notice)
