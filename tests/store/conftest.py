"""Both engines: a SQLite file and a real PostgreSQL, each test module its own database. The same tests run on both."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tacticapi.advice import Adviser
from tacticapi.club import Services, clubs, matches, players, scorekeeping
from tacticapi.club.advising import Outcome, recompute, recorded
from tacticapi.club.situations import read_kept, situation
from tacticapi.domain.situation import Moment, Situation
from tacticapi.seeds import demo_situation
from tacticapi.store import Engine, open_engine

from ..databases import ENGINES, Played, emptied, new_address, new_database, play_to_the_end


@pytest.fixture(scope="module", params=ENGINES)
def url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> str:
    """A database with the schema in it, one a module and engine."""
    return new_database(request.param, tmp_path_factory.mktemp("db"))


@pytest.fixture(params=ENGINES)
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A new, empty database, one a test and engine."""
    return new_address(request.param, tmp_path)


@pytest.fixture(scope="module")
def module_engine(url: str) -> Iterator[Engine]:
    engine = open_engine(url)
    yield engine
    engine.dispose()


@pytest.fixture
def engine(module_engine: Engine) -> Engine:
    return emptied(module_engine)


@pytest.fixture(scope="module")
def other_engine(
    module_engine: Engine, request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Engine]:
    other = next(kind for kind in ENGINES if kind != module_engine.dialect.name)
    engine = open_engine(new_database(other, tmp_path_factory.mktemp("other")))
    yield engine
    engine.dispose()


@pytest.fixture
def elsewhere(services: Services, other_engine: Engine) -> Services:
    """The same services over an empty database of the other engine."""
    return Services(emptied(other_engine), services.adviser, services.now)


class Clock:
    def __init__(self) -> None:
        self.time = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time

    def forward(self, **span: float) -> None:
        self.time += timedelta(**span)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def services(engine: Engine, adviser: Adviser, clock: Clock) -> Services:
    return Services(engine, adviser, clock)


@pytest.fixture
def club(services: Services) -> str:
    return clubs.create(services, "Two Kilns").club_id


@pytest.fixture
def other_club(services: Services) -> str:
    return clubs.create(services, "Heron Weir").club_id


@pytest.fixture
def played(services: Services, club: str) -> Played:
    """A new match of the demo's players, nothing entered yet; the own player serves first."""
    return new_match(services, club)


def new_match(services: Services, club: str, **changes: Any) -> Played:
    demo = demo_situation("before-match")
    ids = {}
    for side, label in (("own", "Larch"), ("opponent", "Sleet")):
        known = [player.id for player in players.find(services, club) if player.side == side]
        ids[side] = known[0] if known else players.create(services, club, side, label, demo[side]).id
    given = {"context": demo["context"], "first_server": "own", **changes}
    return Played(ids["own"], ids["opponent"], matches.create(services, club, *ids.values(), **given).id)


NewMatch = Callable[..., Played]


@pytest.fixture
def another_match(services: Services, club: str) -> NewMatch:
    return lambda **changes: new_match(services, club, **changes)


@pytest.fixture
def finish(services: Services, club: str) -> Callable[[str], None]:
    """Plays a game of a match, skips to its last game, plays that to the end and ends the match."""

    def play(match_id: str) -> None:
        for winner in ("own", "own", "opponent", "own", "own"):
            scorekeeping.add_points(services, club, match_id, {"winner": winner})
        play_to_the_end(services, club, match_id)

    return play


def situation_of(services: Services, club: str, match: str, moment: Moment) -> Situation:
    with services.reading(club) as work:
        return situation(read_kept(work, match), moment, services.rulebook)


def given_again(services: Services, club: str, advice_id: str) -> Outcome:
    """Advise again on the situation that was kept with a piece of advice, and compare."""
    with services.reading(club) as work:
        snapshot = work.snapshots.get(advice_id)
        assert snapshot is not None
        return recompute(recorded(work, snapshot, read_kept(work, snapshot.match_id)), services.adviser)
