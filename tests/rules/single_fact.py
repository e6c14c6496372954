"""What differs between two requests, counted in facts.

A fact is one item of context, own or opponent, one part of the score, one entry of a list of observations or tries,
the points of one serving side, the count of own errors, or the moment.
"""

import json
from collections import Counter
from collections.abc import Mapping
from typing import Any

OBJECTS = ("context", "own", "opponent", "score", "points_played")
LISTS = ("observations", "tries")


def changed_facts(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """The places of the facts that differ; an entry that was altered counts once."""
    told, tells = _facts(before), _facts(after)
    changed = [place for place in sorted(told.keys() | tells.keys()) if told.get(place) != tells.get(place)]
    for name in LISTS:
        old, new = _entries(before, name), _entries(after, name)
        changed += [name] * max((old - new).total(), (new - old).total())
    return changed


def _facts(request: Mapping[str, Any]) -> dict[str, str]:
    facts: dict[str, str] = {}
    for name, value in request.items():
        if name in OBJECTS:
            facts |= {f"{name}/{item}": _text(said) for item, said in value.items()}
        elif name not in LISTS:
            facts[name] = _text(value)
    return facts


def _entries(request: Mapping[str, Any], name: str) -> Counter[str]:
    return Counter(_text(entry) for entry in request.get(name, ()))


def _text(value: Any) -> str:
    return json.dumps(value, sort_keys=True)
