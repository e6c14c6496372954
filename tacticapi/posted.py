"""Read what a client posts: check it against the vocabulary and convert it to domain objects."""

import json
import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from difflib import get_close_matches
from typing import Any

from tacticapi.domain.rules import ObservationKind, Rulebook
from tacticapi.domain.situation import MAX_TRIED, Observation, Tries, Way, Wing
from tacticapi.rulebook.conditions import MAX_RATING, QUALIFIERS
from tacticapi.rulebook.files import Fault
from tacticapi.scoring.formats import SIDES, Format, ScoreError

PROFILES = ("context", "own", "opponent")
FORMAT = "format"
Posted = Mapping[str, Any]
Kinds = Mapping[str, ObservationKind]

MAX_TEXT = 500
MAX_NEAR = 40  # longest unknown name, and most members of a profile, for which similar known names are looked up
MAX_TEXTS = {"by": 50, "note": MAX_TEXT, "ref": 100}
PATTERNS = {"record.last_points": (re.compile(r"[WLwl]{1,40}"), "1 to 40 letters, W (won) or L (lost)")}
NAMES = tuple(field.name for field in fields(Observation) if field.name not in ("index", "way"))
_OTHER_NAME = f"one of the names {', '.join(NAMES)}"
_SAID = (Way.COUNT, Way.COUNTS, Way.RATING, Way.VALUE, Way.AMOUNT, Way.SEEN)
_POINT_NAMES = frozenset({"winner", "own_error", "score", "by"})
_TACTIC = "the id of a tactic"
SUM_EXPECTED = f"at most {MAX_TRIED:,} tries of one tactic in a match, counting all entries"
MAX_CHANCES = 10_000  # a sanity cap; no match has this many points
MAX_AMOUNT = 1_000_000  # a sanity cap for kinds that set no limits of their own
DIRECTIONS = ("with", "against", "cross")
ENDS = ("north", "south")
ON = ("serve", "return")
READINGS: Mapping[str, tuple[float, float, str]] = {
    "air_c": (-30.0, 60.0, "°C"),
    "humidity": (0.0, 100.0, "%"),
    "wbgt": (-30.0, 60.0, "°C"),
}  # sanity caps: wider than any tennis weather
_CHANCES = f"a whole number from 0 to {MAX_CHANCES:,}"
Path = tuple[str, ...]
Check = Callable[[Any, ObservationKind, Path], Iterator[Fault]]


def kinds_of(rulebook: Rulebook, subject: str) -> dict[str, ObservationKind]:
    """Return a subject's kinds, keyed by the part of the id after the dot, in vocabulary order."""
    return {kind.key: kind for kind in rulebook.kinds.values() if kind.subject == subject}


def fact_faults(subject: str, facts: Posted, kinds: Kinds) -> list[Fault]:
    """Return every fault in one subject's facts; `kinds` holds the subject's kinds, and null is never a fault."""
    few = len(facts) <= MAX_NEAR
    return [fault for key, item in facts.items() for fault in _item_faults(subject, key, item, kinds, few)]


def profile(posted: Posted) -> dict[str, Any]:
    """Return checked facts by key, without nulls; wind and heat given as objects are flattened to plain keys."""
    read: dict[str, Any] = {}
    for key, item in posted.items():
        if item is not None:
            spread = _SPREADS[key] if key in _SPREADS and isinstance(item, Mapping) else None
            read.update(spread(item) if spread else {key: item})
    return read


def _item_faults(subject: str, key: str, item: Any, kinds: Kinds, few: bool) -> Iterable[Fault]:
    if subject == "context" and key == FORMAT:
        try:
            Format.from_wire(item)
        except ScoreError as refused:
            return [Fault((FORMAT, *fault.path), fault.value, fault.expected) for fault in refused.faults]
        return []
    if key not in kinds:
        names = (*((FORMAT,) if subject == "context" else ()), *kinds)
        return [Fault((key,), item, f"one of the names {', '.join(names)}{_meant(key, names) if few else ''}")]
    if isinstance(item, str) and not 1 <= len(item) <= MAX_TEXT:
        return [Fault((key,), item, f"a string of 1 to {MAX_TEXT} characters")]
    return profile_faults(key, item, kinds[key])


def _wind(item: Posted) -> dict[str, Any]:
    direction = {end: blows for end, blows in (item.get("direction") or {}).items() if blows is not None}
    return {"wind": item["strength"], **({"wind_direction": direction} if direction else {})}


_SPREADS: Mapping[str, Callable[[Posted], dict[str, Any]]] = {
    "wind": _wind,
    "heat": lambda item: {f"heat_{name}": value for name, value in item.items() if value is not None},
    FORMAT: lambda item: {FORMAT: {name: value for name, value in item.items() if value is not None}},
}


def observation_faults(posted: Any, rulebook: Rulebook) -> list[Fault]:
    """Return all faults in one posted observation; a null member counts as missing."""
    if not isinstance(posted, Mapping):
        return [Fault((), posted, "an object that describes one observation")]
    found = [Fault((name,), posted[name], _OTHER_NAME) for name in posted if name not in NAMES]
    found += text_faults(posted, MAX_TEXTS)
    what = posted.get("what")
    kind = rulebook.kinds.get(what) if isinstance(what, str) else None
    if kind is None:
        found.append(Fault(("what",), what, _known_kind(what, rulebook)))
    elif kind.subject in PROFILES:
        found.append(Fault(("what",), what, f"an observation; post this one as {kind.key} in {kind.subject}"))
    else:
        found += _kind_faults(posted, kind)
    return found


def _known_kind(what: object, rulebook: Rulebook) -> str:
    meant = ""
    if isinstance(what, str) and len(what) <= MAX_NEAR:  # search only the nearest subject, which is quick
        subject = get_close_matches(what.partition(".")[0], {kind.subject: None for kind in rulebook.kinds.values()}, 1)
        meant = _meant(what, [kind.id for kind in rulebook.kinds.values() if kind.subject in subject])
    return f"an id from the vocabulary{meant or ', see /v1/vocabulary'}"


def _meant(name: str, known: Sequence[str]) -> str:
    near = get_close_matches(name, known, 1) if len(name) <= MAX_NEAR else ()
    return f"; did you mean {near[0]}?" if near else ""


def text_faults(posted: Posted, names: Iterable[str]) -> list[Fault]:
    """Return the faults in the strings with these names, each with its own maximum length."""
    return [
        Fault((name,), text, f"a string of 1 to {MAX_TEXTS[name]} characters")
        for name in names
        if (text := posted.get(name)) is not None and not (isinstance(text, str) and 1 <= len(text) <= MAX_TEXTS[name])
    ]


def unknown_kind_faults(posted: Posted) -> list[Fault]:
    """Return the faults in an observation whose kind these rules do not know: members of the wrong type."""
    return [
        Fault((name,), value, _OTHER_NAME if name not in NAMES else "a valid value of this member")
        for name, value in posted.items()
        if value is not None and not (name in _SORTS and _SORTS[name](value))
    ]


def observation(index: int, posted: Posted, kind: ObservationKind) -> Observation:
    """Convert a checked entry, at this index in the posted list, to an observation."""
    given = ((name, value) for name, value in posted.items() if value is not None)
    said = {name: _AS_KEPT[name](value) if name in _AS_KEPT else value for name, value in given}
    way = Way.TEXT if _is_text(posted, kind) else next((way for way in _SAID if way in said), Way.TEXT)
    if way is Way.TEXT:
        said.setdefault("value", said.get("note"))
    return Observation(index, way=way, **said)


def _kind_faults(posted: Posted, kind: ObservationKind) -> list[Fault]:
    if not _is_text(posted, kind):
        return faults(posted, kind)
    text = posted["value"]
    pattern, expected = PATTERNS.get(kind.id, (None, f"a string of 1 to {MAX_TEXT} characters"))
    fits = pattern.fullmatch(text) if pattern else 1 <= len(text) <= MAX_TEXT
    found = [] if fits else [Fault(("value",), text, expected)]
    return found + faults({**posted, "value": None, "note": "a text"}, kind)


def _is_text(posted: Posted, kind: ObservationKind) -> bool:
    """Return whether the observation is plain text in `value` alone, for a kind that accepts text."""
    value = posted.get("value")
    if Way.TEXT not in kind.ways or not isinstance(value, str) or value in kind.options:
        return False
    return all(way is Way.VALUE or posted.get(way) is None for way in _SAID)


def number(value: Any) -> bool:
    """Return whether the value is a finite number; booleans are not."""
    if isinstance(value, float):
        return math.isfinite(value)
    return type(value) is int or (isinstance(value, int) and not isinstance(value, bool))


_SORTS: Mapping[str, Callable[[Any], bool]] = {
    **dict.fromkeys(NAMES, lambda value: isinstance(value, str) and len(value) <= MAX_TEXT),
    **dict.fromkeys(("count", "of", "rating", "amount", "set", "game"), number),
    "counts": lambda value: isinstance(value, Mapping) and all(map(number, value.values())),
    "seen": lambda value: isinstance(value, bool),
}


_AS_KEPT: Mapping[str, Callable[[Any], Any]] = {
    "counts": lambda counts: {option: int(chances) for option, chances in counts.items()},
    "wing": Wing,
    **dict.fromkeys(("count", "of", "rating", "set", "game"), int),
}


def current_tactic(name: str, rulebook: Rulebook) -> str | None:
    """Return the id of this tactic or its replacement; None if the rulebook has neither."""
    seen: set[str] = set()
    while name in rulebook.tactics and name not in seen:
        seen.add(name)
        replacement = rulebook.tactics[name].deprecated
        if replacement is None or replacement not in rulebook.tactics:
            return name
        name = replacement
    return None


def merged_tries(posted: Iterable[Posted], rulebook: Rulebook) -> tuple[Tries, ...]:
    """Return the tries of known tactics, in order; add up those for the same tactic, game and side."""
    sums: dict[tuple[Any, ...], Tries] = {}
    for entry in posted:
        name = current_tactic(entry["tactic"], rulebook)
        if name is not None:
            where = (name, entry.get("set"), entry.get("game"), entry.get("on"), entry["tried"] > 0)
            before = sums.pop(where, Tries(name, 0, 0))
            tried, won = before.tried + int(entry["tried"]), before.won + int(entry["won"])
            sums[where] = Tries(name, tried, won, *where[1:-1])
    return tuple(sums.values())


def try_faults(body: Posted, rulebook: Rulebook | None = None) -> list[Fault]:
    """Return the faults in {tactic, tried, won, set?, game?, on?, by?}; without a rulebook, any tactic is known."""
    known = {"tactic", "tried", "won", "set", "game", "on", "by"}
    found = [Fault((name,), body[name], "tactic, tried, won, set, game, on or by") for name in body.keys() - known]
    found += text_faults(body, ("by",))
    tactic = body.get("tactic")
    if not isinstance(tactic, str) or (rulebook and current_tactic(tactic, rulebook) is None):
        found.append(Fault(("tactic",), tactic, _TACTIC))
    tried, won = body.get("tried"), body.get("won")
    for name, value in (("tried", tried), ("won", won)):
        if type(value) is not int or not 0 <= value <= MAX_TRIED:
            found.append(Fault((name,), value, f"a whole number from 0 to {MAX_TRIED:,}"))
    if type(tried) is int and type(won) is int and won > tried:
        found.append(Fault(("won",), won, f"at most {tried}, the value of `tried`"))
    for name in ("set", "game"):
        if (value := body.get(name)) is not None and (type(value) is not int or not 1 <= value <= MAX_CHANCES):
            found.append(Fault((name,), value, f"a whole number from 1 to {MAX_CHANCES:,}"))
    if body.get("on") not in (None, *ON):
        found.append(Fault(("on",), body["on"], " or ".join(ON)))
    return found


def point_faults(body: Any) -> list[Fault]:
    """Return the faults in {winner, own_error?, by?} or {score, by?}."""
    if not isinstance(body, Mapping) or len({"winner", "score"} & body.keys()) != 1:
        return [Fault((), None, "an object with winner, or with score if the score is set by hand")]
    unknown = [Fault((name,), body[name], "winner, own_error, score or by") for name in body.keys() - _POINT_NAMES]
    unknown += text_faults(body, ("by",))
    if "winner" in body and body["winner"] not in SIDES:
        unknown.append(Fault(("winner",), body["winner"], "own or opponent"))
    error = body.get("own_error")
    if error is not None and not (isinstance(error, bool) and body.get("winner") == "opponent"):
        unknown.append(Fault(("own_error",), error, "true or false, and only with a point that the opponent won"))
    return unknown


def faults(posted: Mapping[str, Any], kind: ObservationKind) -> list[Fault]:
    """Return the faults in an observation's forms, bounds, qualifiers, `set`, `game` and `end`; null means missing."""
    given = {name: value for name, value in posted.items() if value is not None}
    return [*_way_faults(given, kind), *_qualifier_faults(given, kind), *_place_faults(given)]


def profile_faults(key: str, value: Any, kind: ObservationKind) -> list[Fault]:
    """Return the faults in one item of context, own or opponent; only wind and heat may be mappings."""
    if kind.id in _MAPPINGS and isinstance(value, Mapping):
        return list(_MAPPINGS[kind.id](value, kind, (key,)))
    found = [list(_CHECKS[way](value, kind, ())) for way in kind.ways if way in _CHECKS]
    if value is None or not all(found) or (Way.TEXT in kind.ways and isinstance(value, str)):
        return []
    expected = dict.fromkeys(fault.expected for each in found for fault in each)
    return [Fault((key,), value, " or ".join(expected) or "a string")]


def _way_faults(given: Mapping[str, Any], kind: ObservationKind) -> Iterator[Fault]:
    used = [way for way in _SAID if way in given]
    if not used and not (Way.TEXT in kind.ways and "note" in given):
        yield Fault((), None, f"one form: {' or '.join(kind.ways)}")
    for way in used:
        if way not in kind.ways:
            yield Fault((way.value,), given[way], f"another form: {' or '.join(kind.ways)}")
        elif way is not used[0]:
            yield Fault((way.value,), given[way], "one form, not several")
        elif way is Way.COUNT:
            yield from _count_faults(given)
        else:
            yield from _CHECKS[way](given[way], kind, (way.value,))
    if "of" in given and Way.COUNT not in used:
        yield Fault(("of",), given["of"], "`of` only with `count`")


def _count_faults(given: Mapping[str, Any]) -> Iterator[Fault]:
    count, of = given["count"], given.get("of")
    if not _whole(count, MAX_CHANCES):
        yield Fault(("count",), count, _CHANCES)
    if of is None:
        yield Fault(("of",), None, "the number of chances that the count is out of")
    elif not _whole(of, MAX_CHANCES):
        yield Fault(("of",), of, _CHANCES)
    elif _whole(count, MAX_CHANCES) and count > of:
        yield Fault(("count",), count, f"at most {int(of)}, the value of `of`")


def _counts_faults(value: Any, kind: ObservationKind, at: Path) -> Iterator[Fault]:
    options = ", ".join(kind.options)
    if not isinstance(value, Mapping) or not value:
        yield Fault(at, value, f"chances by option: {options}")
        return
    for option, chances in value.items():
        if option not in kind.options:
            yield Fault((*at, str(option)), chances, f"one of {options}")
        elif not _whole(chances, MAX_CHANCES):
            yield Fault((*at, option), chances, _CHANCES)


def _amount_faults(value: Any, kind: ObservationKind, at: Path) -> Iterator[Fault]:
    low = -MAX_AMOUNT if kind.low is None else kind.low
    high = MAX_AMOUNT if kind.high is None else kind.high
    if not number(value) or not low <= value <= high:
        yield Fault(at, value, f"a number from {low:g} to {high:g} in {kind.unit}")


def _fits(fit: Callable[[Any, ObservationKind], bool], expected: Callable[[ObservationKind], str]) -> Check:
    return lambda value, kind, at: iter(() if fit(value, kind) else (Fault(at, value, expected(kind)),))


_CHECKS: Mapping[Way, Check] = {
    Way.COUNTS: _counts_faults,
    Way.RATING: _fits(
        lambda value, _: _whole(value, MAX_RATING), lambda _: f"a rating: a whole number from 0 to {MAX_RATING}"
    ),
    Way.VALUE: _fits(
        lambda value, kind: isinstance(value, str) and value in kind.options,
        lambda kind: f"one of {', '.join(kind.options)}",
    ),
    Way.AMOUNT: _amount_faults,
    Way.SEEN: _fits(lambda value, _: isinstance(value, bool), lambda _: "true or false"),
}


def _qualifier_faults(given: Mapping[str, Any], kind: ObservationKind) -> Iterator[Fault]:
    for name, words in QUALIFIERS.items():
        if name not in given:
            if kind.qualifiers.get(name) == "required":
                yield Fault((name,), None, f"one of {', '.join(words)}")
        elif name not in kind.qualifiers:
            yield Fault((name,), given[name], f"no {name}: {kind.id} takes none")
        elif given[name] not in words:
            yield Fault((name,), given[name], f"one of {', '.join(words)}")


def _place_faults(given: Mapping[str, Any]) -> Iterator[Fault]:
    for name in ("set", "game"):
        if name in given and not (_whole(given[name], MAX_CHANCES) and given[name] >= 1):
            yield Fault((name,), given[name], "a whole number from 1")
    if "end" in given and given["end"] not in ENDS:
        yield Fault(("end",), given["end"], f"one of {', '.join(ENDS)}")


def _whole(value: Any, most: int) -> bool:
    return number(value) and 0 <= value <= most and value == int(value)


def _wind_faults(value: Mapping[str, Any], kind: ObservationKind, at: Path) -> Iterator[Fault]:
    """Check {strength, direction: {north, south}}, with the wind's direction as felt at each end."""
    if value.get("strength") not in kind.options:
        yield Fault((*at, "strength"), value.get("strength"), f"one of {', '.join(kind.options)}")
    yield from _other_fields(value, ("strength", "direction"), at)
    direction = value.get("direction")
    if direction is None:
        return
    if not isinstance(direction, Mapping):
        yield Fault((*at, "direction"), direction, f"a direction for {' or '.join(ENDS)}")
        return
    yield from _other_fields(direction, ENDS, (*at, "direction"))
    for end in ENDS:
        if direction.get(end) is not None and direction[end] not in DIRECTIONS:
            yield Fault((*at, "direction", end), direction[end], f"one of {', '.join(DIRECTIONS)}")


def _heat_faults(value: Mapping[str, Any], kind: ObservationKind, at: Path) -> Iterator[Fault]:
    """Check {air_c, humidity, wbgt}: air temperature (°C), relative humidity (%), wet-bulb globe temperature (°C)."""
    yield from _other_fields(value, tuple(READINGS), at)
    for name, (low, high, unit) in READINGS.items():
        reading = value.get(name)
        if reading is not None and not (number(reading) and low <= reading <= high):
            yield Fault((*at, name), reading, f"a number from {low:g} to {high:g} in {unit}")


def _other_fields(value: Mapping[str, Any], known: tuple[str, ...], at: Path) -> Iterator[Fault]:
    for name in value:
        if name not in known:
            yield Fault((*at, str(name)), value[name], f"one of {', '.join(known)}")


_MAPPINGS: Mapping[str, Check] = {"context.wind": _wind_faults, "context.heat": _heat_faults}


MAX_DEPTH = 20
MAX_NUMBER = 2**53  # above this, a float cannot distinguish neighbouring whole numbers
MAX_DIGITS = 20
_DEPTH = f"at most {MAX_DEPTH} levels of lists and objects"
_SURROGATE = re.compile("[\ud800-\udfff]")
_NUMBER = "a number from -2^53 to 2^53"
_SIGNS = ("\\u", "NaN", "Infinity")
_LARGE = re.compile(r"[0-9](?:[0-9]{15}|[eE])")


class StrictJsonError(ValueError):
    """The body is not valid, unambiguous JSON. `faults` lists each place and what was expected there."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.expected for fault in faults))


def strict_json(body: bytes) -> Any:
    """Parse a body as JSON and return its value. Raises StrictJsonError with every fault found.

    A body is refused if two parsers could read it differently (RFC 8259 and RFC 7493, I-JSON). It must be UTF-8 without
    duplicate names, NaN, Infinity, numbers beyond 2^53, lone surrogates or NUL, at most 20 levels deep.
    """
    try:
        return strict_text(body.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise StrictJsonError([Fault((), None, f"UTF-8 text; byte {error.start} is invalid")]) from None


def strict_text(text: str, *, nul: bool = False) -> Any:
    """Parse a string as JSON and return its value; `nul` allows NUL in it. Raises the same error as `strict_json`."""
    try:
        value = json.loads(text, object_pairs_hook=_object, parse_int=_integer, parse_constant=float)
    except json.JSONDecodeError as error:
        where = f"JSON; line {error.lineno}, column {error.colno}: {error.msg.lower()}"
        raise StrictJsonError([Fault((), None, where)]) from None
    except RecursionError:
        raise StrictJsonError([Fault((), None, _DEPTH)]) from None
    # without these signs, no string or number can be wrong; checking each one takes three times as long as parsing
    suspect = not text.isascii() or any(sign in text for sign in _SIGNS) or _LARGE.search(text) is not None
    if found := list(_value_faults(value, (), 1, suspect, nul)):
        raise StrictJsonError(found)
    return value


class _Repeated(dict[str, Any]):
    """An object with repeated names, listed in `names`; the last value of each is kept."""

    def __init__(self, pairs: list[tuple[str, Any]]) -> None:
        super().__init__(pairs)
        self.names = [name for name, times in Counter(name for name, _ in pairs).items() if times > 1]


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    return made if len(made) == len(pairs) else _Repeated(pairs)


def _integer(digits: str) -> float:
    return int(digits) if len(digits) <= MAX_DIGITS else math.inf


def _value_faults(value: Any, at: tuple[str | int, ...], depth: int, suspect: bool, nul: bool) -> Iterator[Fault]:
    kind = type(value)
    if kind in _CONTAINERS:
        if depth > MAX_DEPTH:
            yield Fault(at, value, _DEPTH)
            return
        if kind is _Repeated:
            yield from (Fault((*at, name), value[name], "each name once in an object") for name in value.names)
        if suspect and kind is not list:
            odd = (name for name in value if not _plain(name, nul))
            yield from (Fault((*at, name), name, "a name without NUL or lone surrogates") for name in odd)
        for step, item in enumerate(value) if kind is list else value.items():
            if suspect or type(item) in _CONTAINERS:
                yield from _value_faults(item, (*at, step), depth + 1, suspect, nul)
    elif kind is str:
        if not _plain(value, nul):
            yield Fault(at, value, "a string without NUL or lone surrogates")
    elif not (value is None or -MAX_NUMBER <= value <= MAX_NUMBER):
        yield Fault(at, value, _NUMBER)


_CONTAINERS = (dict, list, _Repeated)


def _plain(text: str, nul: bool) -> bool:
    return (nul or "\x00" not in text) and (text.isascii() or not _SURROGATE.search(text))
