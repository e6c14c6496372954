"""What a fact of a kind and name can hold: for each field its words, or its least and greatest number."""

from collections.abc import Callable, Mapping
from itertools import combinations

from tacticapi.domain.rules import FactKind, ObservationKind, Rulebook
from tacticapi.domain.situation import Way, Wing
from tacticapi.inference.limits import MAX_NUMBER
from tacticapi.knowledge import PLAIN_COUNT, QUALIFIERS, part_name

Words = frozenset[str]
Range = tuple[int, int]
Fields = Mapping[str, Words | Range]

PROFILES = frozenset({"own", "opponent", "context"})
"""Subjects whose items are keys of a request's objects, not observations."""

_ANY_NUMBER = (-MAX_NUMBER, MAX_NUMBER)
_COUNT = (0, MAX_NUMBER)
_PERMILLE = (0, 1000)
_RATING_SCALE = _AMOUNT_SCALE = 100
_QUALIFIERS = {
    "wing": frozenset(Wing),
    "court": frozenset({"deuce", "ad"}),
    "serve": frozenset({"first", "second"}),
}
SCORES: Mapping[str, Fields] = {
    "serving": {"value": frozenset({"own", "opponent"})},
    "court": {"value": frozenset({"deuce", "ad", "either"})},
    "tie_break": {"value": frozenset({"yes"})},
    "importance": {"number": _PERMILLE},
    "games_completed": {"number": _COUNT},
    "set_games": {"number": _COUNT},
    "set_number": {"number": (1, 5)},
    "games_ahead": {"number": _ANY_NUMBER},
    "sets_ahead": {"number": _ANY_NUMBER},
    "breaks_ahead": {"number": _ANY_NUMBER},
}
"""The names that a condition on the score may use."""


def fields_of(kind: FactKind, name: str, rulebook: Rulebook) -> Fields | None:
    """The fields that a fact of this kind and name can hold; None where the rulebook has no such name."""
    return _BY_KIND[kind](name, rulebook)


def _belief(name: str, rulebook: Rulebook) -> Fields | None:
    if name not in rulebook.traits:
        return None
    wings = frozenset(wing.value for wing in rulebook.traits[name].wings if wing)
    return {"permille": (1, 999), "seen": frozenset({"yes"}), **({"wing": wings} if wings else {})}


def _profile(subject: str) -> Callable[[str, Rulebook], Fields | None]:
    def fields(name: str, rulebook: Rulebook) -> Fields | None:
        spec = rulebook.kinds.get(f"{subject}.{name}")
        if spec is None:
            return None
        found: dict[str, Words | Range] = {}
        if words := {*spec.options, *(("yes", "no") if Way.SEEN in spec.ways else ())}:
            found["value"] = frozenset(words)
        if Way.RATING in spec.ways:
            found["number"] = (0, 4)
        if Way.AMOUNT in spec.ways:
            found["number"] = _amount(spec, 1)
        return found

    return fields


def _observed(name: str, rulebook: Rulebook) -> Fields | None:
    spec = rulebook.kinds.get(name)
    if spec is None or spec.subject in PROFILES:
        return None
    found: dict[str, Words | Range] = {q: words for q, words in _QUALIFIERS.items() if q in spec.qualifiers}
    used = [q for q in QUALIFIERS if q in spec.qualifiers]
    found["part"] = frozenset(part_name(some) for size in range(len(used) + 1) for some in combinations(used, size))
    ways = set(spec.ways)
    if ways & {Way.COUNT, Way.COUNTS}:
        found |= {"permille": _PERMILLE, "chances": _COUNT}
        found["option"] = frozenset({PLAIN_COUNT, *(spec.options if Way.COUNTS in ways else ())})
    if Way.VALUE in ways:
        found["value"] = frozenset(spec.options)
    if Way.RATING in ways:
        found["rating"] = (0, 4 * _RATING_SCALE)
    if Way.AMOUNT in ways:
        found["amount"] = _amount(spec, _AMOUNT_SCALE)
    if Way.SEEN in ways:
        found["seen"] = frozenset({"yes"})
    return found


def _amount(spec: ObservationKind, scale: int) -> Range:
    low = -MAX_NUMBER if spec.low is None else round(scale * spec.low)
    high = MAX_NUMBER if spec.high is None else round(scale * spec.high)
    return low, high


def _unseen(name: str, rulebook: Rulebook) -> Fields | None:
    return None if _observed(name, rulebook) is None else {}


def _score(name: str, rulebook: Rulebook) -> Fields | None:
    return SCORES.get(name)


def _tries(name: str, rulebook: Rulebook) -> Fields | None:
    return {"tried": _COUNT, "won": _COUNT, "permille": _PERMILLE} if name in rulebook.tactics else None


def _circumstance(name: str, rulebook: Rulebook) -> Fields | None:
    return {} if name in rulebook.circumstances else None


_BY_KIND: Mapping[FactKind, Callable[[str, Rulebook], Fields | None]] = {
    FactKind.BELIEF: _belief,
    FactKind.OWN: _profile("own"),
    FactKind.OPPONENT: _profile("opponent"),
    FactKind.CONTEXT: _profile("context"),
    FactKind.OBSERVED: _observed,
    FactKind.UNSEEN: _unseen,
    FactKind.SCORE: _score,
    FactKind.TRIES: _tries,
    FactKind.CIRCUMSTANCE: _circumstance,
}
