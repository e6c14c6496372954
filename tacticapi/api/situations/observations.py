"""Posted observations ▶ domain observations, each checked against its kind in the vocabulary."""

import re
from collections.abc import Callable, Mapping
from typing import Any

from marshmallow import ValidationError, fields

from tacticapi.api.fields import Items, Real, Table, Text, Whole, Word, Yes
from tacticapi.api.shapes import Shape
from tacticapi.api.situations.messages import messages
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Observation
from tacticapi.domain.terms import Way, Wing
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.knowledge import Fault, faults
from tacticapi.knowledge.vocabulary import HIGHEST_RATING, MOST_CHANCES, QUALIFIERS
from tacticapi.knowledge.weather import ENDS

MOST_OBSERVATIONS = 1_000
LONGEST_NOTE = 500
_TEXTS = {"by": 50, "note": LONGEST_NOTE, "ref": 100}
PROFILES = ("context", "own", "opponent")
_SAID = (Way.COUNT, Way.COUNTS, Way.RATING, Way.VALUE, Way.AMOUNT, Way.SEEN)
PATTERNS = {"record.last_points": (re.compile(r"[WLwl]{1,40}"), "the last points as 1 to 40 letters, W won and L lost")}
_UNSAID = "Absent: said in another way, and never no."


class KindId(fields.String):
    """An id of the vocabulary that is posted as an observation."""


class ObservationSchema(Shape):
    """One thing seen: `what`, one way of saying it, and qualifiers. Which of them a kind takes: GET /v1/vocabulary."""

    what = KindId(required=True, metadata={"description": "Id of the vocabulary."})
    count = Whole(
        0, MOST_CHANCES, says=f"So many of the chances in `of`; for a question of quality, handled of tried. {_UNSAID}"
    )
    of = Whole(0, MOST_CHANCES, says=f"Number of chances, beside `count` and not below it. {_UNSAID}")
    counts = Table(Whole(0, MOST_CHANCES, required=True), 20, says=f"Chances by option of the kind. {_UNSAID}")
    rating = Whole(0, HIGHEST_RATING, says=f"0 none or very poor, 4 very good or very strong. {_UNSAID}")
    value = Text(LONGEST_NOTE, says=f"One of the kind's options; a plain text where it takes one. {_UNSAID}")
    amount = Real(-1e6, 1e6, says=f"A number in the kind's unit. {_UNSAID}")
    seen = Yes(says=f"Whether it was seen. {_UNSAID}")
    wing = Word(QUALIFIERS["wing"], says="The wing it was seen on. Absent: unknown.")
    court = Word(QUALIFIERS["court"], says="The court served into. Absent: unknown.")
    serve = Word(QUALIFIERS["serve"], says="On which serve. Absent: unknown.")
    end = Word(ENDS, says="The observer's own end at that time. Absent: unknown.")
    set = Whole(1, MOST_CHANCES, says="The set, counted from 1. Absent beside `game`: the set in progress.")
    game = Whole(1, MOST_CHANCES, says="The game of that set, counted from 1. Absent: seen as of now, does not age.")
    by = Text(_TEXTS["by"], says="Who saw it, in the client's own words. Absent: not told.")
    note = Text(_TEXTS["note"], says="A note; kept, never weighed. Absent: none.")
    ref = Text(_TEXTS["ref"], says="The client's own id, echoed in `because` and `unused`. Absent: none.")


_NAMES = frozenset(ObservationSchema().fields)
_OTHER_NAME = "no other name than " + ", ".join(ObservationSchema().fields)


class Observations(Items):
    """A list of observations. Each is checked against its kind, so all its faults are told in one pass."""

    def __init__(self, *, says: str) -> None:
        super().__init__(fields.Nested(ObservationSchema), MOST_OBSERVATIONS, says=says)

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> list[Any]:
        if not isinstance(value, list):
            raise self.make_error("invalid")
        self._validate(value)
        rulebook: Rulebook = self.root.rulebook  # type: ignore[union-attr]
        read: list[Observation] = []
        wrong: dict[int, Any] = {}
        for index, posted in enumerate(value):
            found = observation_faults(posted, rulebook)
            if found:
                wrong[index] = messages(found)
            else:
                read.append(_observation(index, posted, rulebook.kinds[posted["what"]]))
        if wrong:
            raise ValidationError(wrong)
        return read


def observation_faults(posted: Any, rulebook: Rulebook) -> list[Fault]:
    """All faults of one posted observation."""
    if not isinstance(posted, dict):
        return [Fault((), posted, "an object with what was seen")]
    found = [Fault((name,), posted[name], _OTHER_NAME) for name in posted if name not in _NAMES]
    for name, longest in _TEXTS.items():
        text = posted.get(name)
        if text is not None and not (isinstance(text, str) and 1 <= len(text) <= longest):
            found.append(Fault((name,), text, f"a text of 1 to {longest} characters"))
    what = posted.get("what")
    kind = rulebook.kinds.get(what) if isinstance(what, str) else None
    if kind is None:
        found.append(Fault(("what",), what, "an id of the vocabulary, see /v1/vocabulary"))
    elif kind.subject in PROFILES:
        found.append(Fault(("what",), what, f"an observation; this one is posted as {kind.key} in {kind.subject}"))
    else:
        found += _kind_faults(posted, kind)
    return found


def _kind_faults(posted: Mapping[str, Any], kind: ObservationKind) -> list[Fault]:
    if not _is_text(posted, kind):
        return faults(posted, kind)
    text = posted["value"]
    pattern, expected = PATTERNS.get(kind.id, (None, f"a text of 1 to {LONGEST_NOTE} characters"))
    fits = pattern.fullmatch(text) if pattern else 1 <= len(text) <= LONGEST_NOTE
    found = [] if fits else [Fault(("value",), text, expected)]
    return found + faults({**posted, "value": None, "note": "a text"}, kind)


def _is_text(posted: Mapping[str, Any], kind: ObservationKind) -> bool:
    """Whether `value` holds the plain text of a kind that takes one."""
    value = posted.get("value")
    return Way.TEXT in kind.ways and isinstance(value, str) and value not in kind.options


def _observation(index: int, posted: Mapping[str, Any], kind: ObservationKind) -> Observation:
    said = {name: _AS_KEPT.get(name, _as_is)(value) for name, value in posted.items() if value is not None}
    way = Way.TEXT if _is_text(posted, kind) else next((way for way in _SAID if way in said), Way.TEXT)
    if way is Way.TEXT:
        said.setdefault("value", said.get("note"))
    return Observation(index, way=way, **said)


def _as_is(value: Any) -> Any:
    return value


def _whole_counts(counts: Mapping[str, float]) -> dict[str, int]:
    return {option: int(chances) for option, chances in counts.items()}


_AS_KEPT: Mapping[str, Callable[[Any], Any]] = {
    "counts": _whole_counts,
    "wing": Wing,
    **dict.fromkeys(("count", "of", "rating", "set", "game"), int),
}
