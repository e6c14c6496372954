"""Observations as they are posted and kept: their faults against the vocabulary, and what the domain reads in them."""

import re
from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any

from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Observation
from tacticapi.domain.terms import Way, Wing
from tacticapi.domain.vocabulary import ObservationKind
from tacticapi.knowledge import Fault, faults
from tacticapi.knowledge.weather import number
from tacticapi.service.facts import LONGEST_TEXT, PROFILES

Posted = Mapping[str, Any]
LONGEST_TEXTS = {"by": 50, "note": LONGEST_TEXT, "ref": 100}
PATTERNS = {"record.last_points": (re.compile(r"[WLwl]{1,40}"), "the last points as 1 to 40 letters, W won and L lost")}
NAMES = tuple(field.name for field in fields(Observation) if field.name not in ("index", "way"))
_OTHER_NAME = f"no other name than {', '.join(NAMES)}"
_SAID = (Way.COUNT, Way.COUNTS, Way.RATING, Way.VALUE, Way.AMOUNT, Way.SEEN)


def observation_faults(posted: Any, rulebook: Rulebook) -> list[Fault]:
    """All faults of one posted observation; a member that is null counts as absent."""
    if not isinstance(posted, Mapping):
        return [Fault((), posted, "an object with what was seen")]
    found = [Fault((name,), posted[name], _OTHER_NAME) for name in posted if name not in NAMES]
    for name, longest in LONGEST_TEXTS.items():
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


def unknown_kind_faults(posted: Posted) -> list[Fault]:
    """Return the faults of an observation of a kind that these rules do not know: members of the wrong sort."""
    return [
        Fault((name,), value, _OTHER_NAME if name not in NAMES else "what this member holds in an observation")
        for name, value in posted.items()
        if value is not None and not _SORTS.get(name, _is_nothing)(value)
    ]


def observation(index: int, posted: Posted, kind: ObservationKind) -> Observation:
    """The observation that a checked entry means, at this place of the list."""
    said = {name: _AS_KEPT.get(name, _as_is)(value) for name, value in posted.items() if value is not None}
    way = Way.TEXT if _is_text(posted, kind) else next((way for way in _SAID if way in said), Way.TEXT)
    if way is Way.TEXT:
        said.setdefault("value", said.get("note"))
    return Observation(index, way=way, **said)


def _kind_faults(posted: Posted, kind: ObservationKind) -> list[Fault]:
    if not _is_text(posted, kind):
        return faults(posted, kind)
    text = posted["value"]
    pattern, expected = PATTERNS.get(kind.id, (None, f"a text of 1 to {LONGEST_TEXT} characters"))
    fits = pattern.fullmatch(text) if pattern else 1 <= len(text) <= LONGEST_TEXT
    found = [] if fits else [Fault(("value",), text, expected)]
    return found + faults({**posted, "value": None, "note": "a text"}, kind)


def _is_text(posted: Posted, kind: ObservationKind) -> bool:
    """Whether `value`, and nothing beside it, says it: the plain text of a kind that takes one."""
    value, ways = posted.get("value"), [way for way in _SAID if posted.get(way) is not None]
    return Way.TEXT in kind.ways and ways == [Way.VALUE] and isinstance(value, str) and value not in kind.options


def _is_nothing(value: Any) -> bool:
    return False


def _is_short(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= LONGEST_TEXT


def _are_chances(value: Any) -> bool:
    return isinstance(value, Mapping) and all(map(number, value.values()))


def _is_yes(value: Any) -> bool:
    return isinstance(value, bool)


_SORTS: Mapping[str, Callable[[Any], bool]] = {
    **dict.fromkeys(NAMES, _is_short),
    **dict.fromkeys(("count", "of", "rating", "amount", "set", "game"), number),
    "counts": _are_chances,
    "seen": _is_yes,
}


def _as_is(value: Any) -> Any:
    return value


def _whole_counts(counts: Mapping[str, float]) -> dict[str, int]:
    return {option: int(chances) for option, chances in counts.items()}


_AS_KEPT: Mapping[str, Callable[[Any], Any]] = {
    "counts": _whole_counts,
    "wing": Wing,
    **dict.fromkeys(("count", "of", "rating", "set", "game"), int),
}
