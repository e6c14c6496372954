"""What an observer writes down: of every chance some are missed, and some are counted wrongly.

A sighting is one chance: what was looked at, the qualifiers, and the answer (True, False, or one of several options).
Notes are records in plain form: {"what", "count", "of"} or {"what", "counts"}, with "wing", "serve", "game".
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from random import Random
from typing import Any

from tests.rehearsal.world.match import Point
from tests.rehearsal.world.sightings import Sighting, sightings

MISSED, MISCOUNTED = 0.20, 0.10

Key = tuple[str, str | None, str | None]


@dataclass(slots=True)
class Observer:
    """Someone beside the court: misses a share of the chances and miscounts a share of those seen."""

    rng: Random
    missed: float = MISSED
    miscounted: float = MISCOUNTED

    def sees(self, answer: bool | str, options: Sequence[str]) -> bool | str | None:
        """What is written down for one chance; None for nothing."""
        if self.rng.random() < self.missed:
            return None
        if self.rng.random() < self.miscounted:
            return self.rng.choice([o for o in options if o != answer]) if options else not answer
        return answer

    def rates(self, quality: float, usual: float = 2.0) -> int | None:
        """A rating 0 to 4 of a quality (about standard normal, higher better), or None where nobody looked."""
        if self.rng.random() < self.missed:
            return None
        off = self.rng.choice((-1, 1)) if self.rng.random() < self.miscounted else 0
        return max(0, min(4, round(usual + quality + self.rng.gauss(0.0, 0.6)) + off))

    def names(self, value: str, options: Sequence[str]) -> str | None:
        """The word put down for a look; None where nobody looked."""
        seen = self.sees(value, options)
        return seen if isinstance(seen, str) else None


@dataclass(slots=True)
class Notebook:
    """Counts of one stretch of games."""

    counts: dict[Key, list[int]] = field(default_factory=lambda: defaultdict(lambda: [0, 0]))
    options: dict[Key, dict[str, int]] = field(default_factory=lambda: defaultdict(dict))

    def add(self, observer: Observer, found: Iterable[Sighting]) -> None:
        """Write down what the observer makes of these sightings."""
        for sighting in found:
            seen = observer.sees(sighting.answer, sighting.options)
            key = (sighting.what, sighting.wing, sighting.serve)
            if isinstance(seen, str):
                tally = self.options[key]
                tally[seen] = tally.get(seen, 0) + 1
            elif seen is not None:
                self.counts[key][0] += seen
                self.counts[key][1] += 1

    def records(self, **when: int) -> list[dict[str, Any]]:
        """The notes in plain form; `when` is set and game."""
        found: list[tuple[dict[str, Any], Key]] = [
            ({"count": a, "of": b}, key) for key, (a, b) in sorted(self.counts.items(), key=_by_words)
        ]
        found += [({"counts": dict(tally)}, key) for key, tally in sorted(self.options.items(), key=_by_words)]
        return [_record(said, key, when) for said, key in found]


def _by_words(item: tuple[Key, object]) -> tuple[str, ...]:
    return tuple(word or "" for word in item[0])


def _record(said: Mapping[str, Any], key: Key, when: Mapping[str, int]) -> dict[str, Any]:
    what, wing, serve = key
    qualifiers = {"wing": wing, "serve": serve}
    return {"what": what, **said, **{k: v for k, v in qualifiers.items() if v}, **when}


def write_games(
    observer: Observer, games: Sequence[Sequence[Point]], same_handed: bool, **when: int
) -> list[dict[str, Any]]:
    """The notes on a stretch of games, in plain form."""
    book = Notebook()
    for points in games:
        for point in points:
            book.add(observer, sightings(point, same_handed))
    return book.records(**when)
