"""The vocabulary's items of context, own and opponent as JSON Schema."""

from typing import Any

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.terms import Way
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.knowledge.vocabulary import HIGHEST_RATING
from tacticapi.knowledge.weather import DIRECTIONS, ENDS, READINGS
from tacticapi.posted import FORMAT, MAX_TEXT, PROFILES, kinds_of

Schema = dict[str, Any]
_DEFAULTS = {"context.coaching": "unknown", "context.device": "unknown"}


def component_of(subject: str) -> str:
    """The name of the component that describes a subject."""
    return subject.capitalize()


def observation_ids(rulebook: Rulebook) -> list[str]:
    """The ids that are posted as observations, in vocabulary order."""
    return [kind.id for kind in rulebook.kinds.values() if kind.subject not in PROFILES]


def profile_components(rulebook: Rulebook) -> dict[str, Schema]:
    """The objects `context`, `own` and `opponent`, and the match format, by the name of their component."""
    made = {}
    for subject in PROFILES:
        properties = {key: _item(kind) for key, kind in kinds_of(rulebook, subject).items()}
        if subject == "context":
            reference = {"anyOf": [{"$ref": "#/components/schemas/Format"}, {"type": "null"}]}
            properties[FORMAT] = {**reference, "description": "The format. Absent: best of three tie-break sets."}
        made[component_of(subject)] = {
            "type": "object",
            "description": "Absent or null: unknown.",
            "properties": properties,
            "additionalProperties": False,
        }
    return {**made, "Format": _FORMAT}


def _item(kind: ObservationKind) -> Schema:
    """One item; it may always be null."""
    forms = [_way(way, kind) for way in kind.ways]
    if kind.id in _OBJECTS:
        forms.append(_OBJECTS[kind.id])
    made: Schema = _nullable(forms[0]) if len(forms) == 1 else {"anyOf": [*forms, {"type": "null"}]}
    made["description"] = kind.asks
    if kind.id in _DEFAULTS:
        made["default"] = _DEFAULTS[kind.id]
    return made


def _way(way: Way, kind: ObservationKind) -> Schema:
    match way:
        case Way.VALUE:
            return {"type": "string", "enum": list(kind.options)}
        case Way.RATING:
            return {"type": "integer", "minimum": 0, "maximum": HIGHEST_RATING}
        case Way.AMOUNT:
            bounds = {"minimum": kind.low, "maximum": kind.high}
            return {"type": "number", **{name: bound for name, bound in bounds.items() if bound is not None}}
        case Way.SEEN:
            return {"type": "boolean"}
        case _:
            return {"type": "string", "minLength": 1, "maxLength": MAX_TEXT}


def _nullable(form: Schema) -> Schema:
    made = {**form, "type": [form["type"], "null"]}
    if "enum" in form:
        made["enum"] = [*form["enum"], None]
    return made


def _object(description: str, **properties: Schema) -> Schema:
    shape = {"type": "object", "properties": properties, "additionalProperties": False}
    return {"description": description, **shape}


def _one_of(*words: Any, default: Any = None, says: str | None = None) -> Schema:
    kind = "string" if isinstance(words[0], str) else "integer"
    made: Schema = {"type": [kind, "null"], "enum": [*words, None]}
    made.update({name: value for name, value in (("default", default), ("description", says)) if value is not None})
    return made


_DIRECTION = _object(
    "The direction as the observer feels it from each end.", **dict.fromkeys(ENDS, _one_of(*DIRECTIONS))
)
_WIND = _object(
    "The wind in full.",
    strength={"type": "string", "enum": ["none", "light", "moderate", "strong"]},
    direction={**_DIRECTION, "type": ["object", "null"]},
)
_WIND["required"] = ["strength"]
_HEAT = _object(
    "Readings of the heat: air in °C, relative humidity in %, wet-bulb globe temperature in °C.",
    **{
        name: {"type": ["number", "null"], "minimum": low, "maximum": high} for name, (low, high, _) in READINGS.items()
    },
)
_OBJECTS = {"context.wind": _WIND, "context.heat": _HEAT}
_FINAL_SETS = ("tie-break-7", "tie-break-10", "advantage", "match-tie-break-7", "match-tie-break-10")
_FORMAT = _object(
    "The match format. Absent or null fields take their defaults.",
    sets=_one_of(1, 3, 5, default=3, says="Best of so many sets."),
    games=_one_of(4, 6, default=6, says="Games that win a set."),
    tie_break_at={
        "type": ["integer", "null"],
        "minimum": 3,
        "maximum": 6,
        "description": "Games all at which the tie-break is played: `games`, or one fewer. Absent: `games`.",
    },
    set=_one_of("tie-break-7", "advantage", default="tie-break-7", says="Every set but the last possible one."),
    final_set=_one_of(*_FINAL_SETS, says="The last possible set. Absent: as every other set."),
    no_ad={"type": ["boolean", "null"], "default": False, "description": "Whether one point decides at deuce."},
    tie_break_points=_one_of(5, 7, says="Points of the ordinary tie-break. Absent: 7, in short sets 5."),
    tie_break_ends=_one_of(
        "every-6", "after-1-then-every-4", default="every-6", says="When ends change within a tie-break."
    ),
)
