"""Bodies of requests for advice, drawn at random from all that a client may post, the same for the same dice."""

import random
from typing import Any

from tacticapi.domain.rules import ObservationKind, Rulebook
from tacticapi.domain.situation import Way

PROFILES = ("own", "opponent", "context")
QUALIFIERS = {"wing": ("forehand", "backhand"), "court": ("deuce", "ad"), "serve": ("first", "second")}


def body(draw: random.Random, rulebook: Rulebook, size: int) -> dict[str, Any]:
    """A change of ends in the first set with so many observations, strokes and a try, without danger signs."""
    kinds = [k for k in rulebook.kinds.values() if k.subject not in PROFILES and not k.health]
    strokes = [k.key for k in rulebook.kinds.values() if k.subject == "own" and Way.RATING in k.ways and not k.health]
    games = draw.choice(((1, 0), (1, 2), (3, 2), (2, 3), (4, 3), (3, 4), (5, 4)))
    on_serve, on_return = 5 + 5 * games[0] + draw.randrange(5), 5 + 5 * games[1] + draw.randrange(5)
    return {
        "moment": "change-of-ends",
        "context": {"surface": "clay", "coaching": "permitted", "device": "coach"},
        "own": {**{key: draw.randint(1, 4) for key in strokes}, "handedness": "right"},
        "opponent": {"handedness": "left", "backhand_type": "one-handed"},
        "observations": [observation(draw, draw.choice(kinds), sum(games)) for _ in range(size)],
        "score": {"sets": [], "games": list(games), "points": ["0", "0"], "server": draw.choice(("own", "opponent"))},
        "points_played": {
            "on_serve": {"won": draw.randint(2, on_serve), "of": on_serve},
            "on_return": {"won": draw.randint(1, on_return), "of": on_return},
        },
        "own_errors": {"unforced": draw.randint(1, 10), "of": 12},
        "tries": [{"tactic": "work-weaker-wing", "tried": 8, "won": draw.randint(2, 6)}],
    }


def observation(draw: random.Random, kind: ObservationKind, games: int) -> dict[str, Any]:
    """One thing seen, in one of the ways of its kind, in one of the games so far."""
    way = draw.choice([way for way in kind.ways if way is not Way.TEXT] or [Way.TEXT])
    said: dict[str, Any] = {}
    match way:
        case Way.COUNT:
            said["of"] = draw.randint(1, 12)
            said["count"] = draw.randint(0, said["of"])
        case Way.COUNTS:
            said["counts"] = {option: draw.randint(0, 4) for option in kind.options}
        case Way.RATING:
            said["rating"] = draw.randint(0, 4)
        case Way.AMOUNT:
            said["amount"] = draw.randint(int(kind.low or 0), int(min(kind.high or 40, 40)))
        case Way.VALUE:
            said["value"] = draw.choice(kind.options)
        case Way.SEEN:
            said["seen"] = draw.random() < 0.5
        case Way.TEXT:
            said["value"] = "WLWL"
    where = {name: draw.choice(words) for name, words in QUALIFIERS.items() if name in kind.qualifiers}
    return {"what": kind.id, **said, **where, "set": 1, "game": draw.randint(1, games)}
