"""Play the demo match: an invented match in steps, kept only in this process's memory.

Ids are the same in every process, so all processes give the same responses. The next request discards any change. The
match is described in `seeds_demo/match.json`.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from typing import TYPE_CHECKING, Any, Final
from uuid import NAMESPACE_URL, uuid5

from tacticapi.club import matches
from tacticapi.club.advising import live_advice
from tacticapi.club.entries import observed
from tacticapi.club.services import Services
from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_match
from tacticapi.store import Club, Entry, Match, Player, UnitOfWork, in_memory, restore, saved

if TYPE_CHECKING:
    from tacticapi.advice import Adviser

BEGAN: Final = timedelta(minutes=50)  # before the demo is built
POINTS: Final[Mapping[str, Mapping[str, Any]]] = {
    "W": {"winner": "own"},
    "L": {"winner": "opponent", "own_error": False},
    "E": {"winner": "opponent", "own_error": True},
}
"""A point as written in the file: won, lost to a good ball, or lost to our own error."""


TOLD: Final = ("say", "seconds", "screen", "stage")


def _id(name: str) -> str:
    return str(uuid5(NAMESPACE_URL, f"tacticapi:demo:{name}"))


CLUB_ID: Final = _id("club")
MATCH_ID: Final = _id("match")


def steps() -> list[dict[str, Any]]:
    """Return the steps, each with its text, its seconds and, if they change, the screen and the pad's stage."""
    return [{name: step[name] for name in TOLD if name in step} for step in demo_match()["steps"]]


def seen_in(step: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the observations in a step, one body per tap."""
    bodies = ({**body, "times": body.get("times", 1)} for body in step.get("seen", ()))
    return [body for body in bodies for _ in range(body.pop("times"))]


class Demo:
    """The demo match after each of its steps. Each process has one, built on first use."""

    def __init__(self, adviser: "Adviser") -> None:
        self._adviser = adviser
        self._services: Services | None = None
        self._states: list[bytes] = []

    def at(self, step: int) -> Services:
        """Return fresh services for the match after a step (from 0); steps beyond the last return the last."""
        if self._services is None:
            told = Services(in_memory(), self._adviser)
            self._states = [saved(told.engine) for _ in _told(told)]
            self._services = told
        restore(self._services.engine, self._states[min(step, len(self._states) - 1)])
        return self._services


def _told(services: Services) -> Iterator[None]:
    film, plan, now, ids = demo_match(), "", services.now(), (_id("own"), _id("opponent"))
    began = now - BEGAN
    with services.work(CLUB_ID) as work:
        work.clubs.add(Club(CLUB_ID, "demo", None, None, 1, now))
        for side in ("own", "opponent"):
            label, facts = film[side]["label"], film[side]["facts"]
            work.players.add(Player(CLUB_ID, _id(side), side, label, facts, facts.get("age_band"), 1, now, now))
        context, first = film["context"], film["first_server"]
        work.matches.add(Match(CLUB_ID, MATCH_ID, *ids, context, {}, {}, first, "open", began, None, 1, 0, began))
    for step in film["steps"]:
        plan = step.get("plan", plan)
        with services.work(CLUB_ID) as work:
            _enter(services, work, step, plan)
        if step.get("ended"):
            matches.end(services, CLUB_ID, MATCH_ID)
        if moment := step.get("advice"):
            live_advice(services, CLUB_ID, MATCH_ID, Moment(moment))
        yield


def _enter(services: Services, work: UnitOfWork, step: Mapping[str, Any], plan: str) -> None:
    match = work.matches.get(MATCH_ID)
    assert match is not None
    if facts := step.get("opponent"):
        work.matches.update(MATCH_ID, {"opponent_facts": {**match.opponent_facts, **facts}})
    made = list(_entries(services, match, step, plan))
    repositories: tuple[Any, ...] = (work.observations, work.points, work.tries)
    for repository, entries in zip(repositories, made, strict=True):
        repository.add_all(entries)
    work.matches.update(MATCH_ID, {"revision": match.revision + sum(map(len, made)) + bool(facts)})


def _entries(services: Services, match: Match, step: Mapping[str, Any], plan: str) -> Iterator[Sequence[Entry]]:
    sequence = match.revision

    def entry(body: Mapping[str, Any]) -> Entry:
        nonlocal sequence
        sequence += 1
        return Entry(CLUB_ID, _id(f"entry-{sequence}"), MATCH_ID, sequence, None, body, services.now())

    yield [observed(entry(body)) for body in seen_in(step)]
    yield [entry(POINTS[letter]) for letter in step.get("points", "")]
    tries = [(0, 0)] if "plan" in step else []
    tries += [step["tries"]] if "tries" in step else []
    yield [entry({"tactic": plan, "tried": tried, "won": won}) for tried, won in tries]
