"""What every calculation shares: when it is asked, what the event permits, and what is said beside the answer."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from tacticapi.advice.safety import permission_notices, withheld
from tacticapi.api.fields import Word, part
from tacticapi.api.shapes import Shape
from tacticapi.domain.terms import Coaching, Device, Moment

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
    asked: Occasion, shape: type[Shape], calculate: Callable[[], dict[str, Any]], told: Iterable[str] = ()
) -> dict[str, Any]:
    """The answer with its notices; where the event does not permit it now, nothing is calculated and all is null."""
    if why := withheld(asked):
        nothing = dict.fromkeys(name for name in shape().fields if name not in BESIDE)
        return {"safety": [], **nothing, "notice": [why]}
    return {"safety": [], **calculate(), "notice": [*permission_notices(asked), *told, NO_PROMISE]}
