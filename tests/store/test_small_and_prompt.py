"""No club hurts another: what is stored of a match is bounded, and no writer holds the database for long."""

import random
import time
from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.club import advising, clubs, entries, importing, matches, players, retention, scorekeeping
from tacticapi.club import services as use_cases
from tacticapi.club.export import export
from tacticapi.club.services import Refused, Services
from tacticapi.domain.situation import Moment
from tacticapi.store import UnitOfWork
from tacticapi.store.engine import is_sqlite

NOW = Moment.CHANGE_OF_ENDS
HEALTH = {"what": "physical.heavy_legs", "seen": True, "note": "limping"}
POLLS, MAX_BYTES = 200, 2_000_000
PIECE, ENTRIES = 20, 40  # rows that one unit of work changes at most, and few beside them


@pytest.fixture
def busy(services: Services, club: str, played: Any, seen: list[dict[str, Any]]) -> Callable[[int], None]:
    """Plays on in a match of which much was seen, and asks for advice after every point."""
    dice = random.Random(7)
    entries.add_observations(services, club, played.match, seen)

    def play(points: int) -> None:
        for number in range(points):
            scorekeeping.add_points(services, club, played.match, {"winner": dice.choice(("own", "opponent"))})
            if number % 2:
                entries.add_observations(services, club, played.match, dict(dice.choice(seen)))
            if number % 80 == 79 and scorekeeping.score(services, club, played.match)[0]:
                begun = {"sets": [], "games": [0, 0], "points": ["0", "0"], "server": "own"}
                scorekeeping.add_points(services, club, played.match, {"score": begun})
            advising.live_advice(services, club, played.match, NOW)

    return play


def stored_bytes(services: Services) -> int:
    if is_sqlite(services.engine):
        use_cases.empty_log(services)
        query = "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()"
    else:
        query = "SELECT sum(pg_column_size(one.*)) FROM (TABLE snapshots) AS one"
    with services.engine.connect() as connection:
        return int(connection.exec_driver_sql(query).scalar() or 0)


def test_the_polls_of_a_busy_match_take_little_room(services, club, played, busy):
    before = stored_bytes(services)
    busy(POLLS)
    with services.reading(club) as work:
        assert work.snapshots.count(played.match) == POLLS
    assert stored_bytes(services) - before < MAX_BYTES


def test_of_many_pieces_of_advice_the_newest_are_kept_and_those_with_feedback(
    services, club, played, busy, monkeypatch
):
    monkeypatch.setattr(advising, "MAX_ADVICE", 3)
    busy(1)
    told = advising.live_advice(services, club, played.match, NOW)
    advising.add_feedback(services, club, told.id, told.advice.suggestions[0].tactic, kind="used")
    busy(6)
    with services.reading(club) as work:
        kept = [one.id for one in work.snapshots.find(match_id=played.match)]
    assert (len(kept), kept[0]) == (3, told.id)
    assert advising.given_advice(services, club, kept[1]).advice.suggestions
    assert [one.sort for one in advising.replay(services, club)] == [advising.SAME, advising.LEFT_OUT, advising.SAME]


def test_the_same_answer_is_not_stored_again(services, club, played, busy):
    busy(1)
    first = advising.live_advice(services, club, played.match, NOW)
    players.update(services, club, played.own, 1, label="Larch the elder")  # changes the match, and no advice
    again = advising.live_advice(services, club, played.match, NOW)
    assert (again.id, again.snapshot.confirmed) == (first.id, first.snapshot.confirmed + 1)
    with services.reading(club) as work:
        assert work.snapshots.count(played.match) == 1
    assert [one.sort for one in advising.replay(services, club)] == [advising.SAME]


def test_a_match_holds_only_so_many_entries_and_lines_of_feedback(services, club, played, busy, monkeypatch):
    busy(1)
    live = advising.live_advice(services, club, played.match, NOW)
    assert advising.MAX_FEEDBACK > 500
    monkeypatch.setattr(entries, "MAX_ENTRIES", 1)
    monkeypatch.setattr(advising, "MAX_FEEDBACK", 1)
    tried, shown = {"tactic": "swap-serve-spots", "tried": 1, "won": 1}, live.advice.suggestions[0].tactic
    scorekeeping.add_tries(services, club, played.match, tried)
    advising.add_feedback(services, club, live.id, shown, kind="used")
    before = matches.revision(services, club, played.match)
    for add, most in (
        (lambda: entries.add_observations(services, club, played.match, HEALTH), "at most 1 entries"),
        (lambda: scorekeeping.add_points(services, club, played.match, {"winner": "own"}), "at most 1 entries"),
        (lambda: scorekeeping.add_tries(services, club, played.match, tried), "at most 1 entries"),
        (lambda: advising.add_feedback(services, club, live.id, shown, kind="used"), "at most 1 feedback entries"),
    ):
        with pytest.raises(Refused, match=most):
            add()
    assert matches.revision(services, club, played.match) == before


@pytest.fixture
def units(services: Services, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many rows each unit of work changed that wrote, as SQLite counts them."""
    changed: list[int] = []
    enter, leave = UnitOfWork.__enter__, UnitOfWork.__exit__

    def total(work: UnitOfWork) -> int:
        driver: Any = work._connection.connection.driver_connection
        return int(getattr(driver, "total_changes", 0))

    def entered(self: UnitOfWork) -> UnitOfWork:
        work = enter(self)
        work.__dict__["_rows_before"] = total(work)
        return work

    def left(self: UnitOfWork, *told: Any) -> None:
        if not self.read_only and self.engine.url == services.engine.url:  # an import is tried out elsewhere
            changed.append(total(self) - self.__dict__["_rows_before"])
        leave(self, *told)

    monkeypatch.setattr(UnitOfWork, "__enter__", entered)
    monkeypatch.setattr(UnitOfWork, "__exit__", left)
    return changed


@pytest.mark.parametrize("what", ["end", "delete", "erase", "sweep"])
def test_what_changes_much_does_so_in_pieces(services, played, busy, units, clock, monkeypatch, what):
    club = clubs.every(services)[0].club_id
    entries.add_observations(services, club, played.match, [HEALTH] * 100)
    busy(25)
    for module in (matches, retention):
        monkeypatch.setattr(module, "ROWS_IN_A_PIECE", PIECE)
        monkeypatch.setattr(module, "ENTRIES_IN_A_PIECE", ENTRIES)
    units.clear()
    clock.forward(days=4_000)
    do = {
        "end": lambda: matches.end(services, club, played.match).status == "ended",
        "delete": lambda: matches.delete(services, club, played.match) is None,
        "erase": lambda: retention.erase_player(services, club, played.opponent).matches_kept == 1,
        "sweep": lambda: retention.sweep(services).ended == 1,
    }
    assert do[what]()
    assert len(units) > 2
    if is_sqlite(services.engine):
        assert PIECE <= max(units) <= 2 * ENTRIES


def test_an_import_is_written_in_pieces(services, club, other_club, busy, units, monkeypatch):
    busy(5)
    lines = list(export(services, club))
    for name in ("ENTRIES_IN_A_PIECE", "ROWS_IN_A_PIECE"):
        monkeypatch.setattr(importing, name, 5)
    units.clear()
    importing.fill_club(services, other_club, lines)
    assert len(units) > 10
    assert max(units) <= 6


def test_a_club_s_own_work_goes_on_while_a_match_ends(services, club, played, busy):
    """What is added between the pieces is not lost, and health items in it go too."""
    entries.add_observations(services, club, played.match, HEALTH)
    busy(3)
    strip = matches._strip

    def meanwhile(*given: Any) -> Any:
        stripped = strip(*given)
        entries.add_observations(services, club, played.match, HEALTH)
        advising.live_advice(services, club, played.match, NOW)
        return stripped

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(matches, "_strip", meanwhile)
        matches.end(services, club, played.match)
    with services.reading(club) as work:
        kept = [*work.snapshots.find(match_id=played.match), *work.observations.of_match(played.match)]
    assert len(kept) > 4
    assert "heavy_legs" not in str(kept)


def test_a_deleted_match_takes_nothing_else_with_it(services, club, another_match):
    gone, left = another_match().match, another_match().match
    for match in (gone, left):
        entries.add_observations(services, club, match, {"what": "warmup.low_forehand", "rating": 1})
        advising.live_advice(services, club, match, NOW)
    matches.delete(services, club, gone)
    assert [one.id for one in matches.find(services, club)] == [left]
    with services.reading(club) as work:
        for kept in (work.snapshots, work.observations):
            assert kept.count(left) == len(kept.find()) == 1


@pytest.fixture
def set_back(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Sets the clock back, in a process that knows nothing of earlier ids."""
    from tacticapi.store import tables

    def back() -> None:
        earlier = time.time_ns() - 3_600 * 10**9
        monkeypatch.setattr(tables, "_newest", 0)
        monkeypatch.setattr(tables.time, "time_ns", lambda: earlier)

    return back


def test_after_the_clock_was_set_back_what_is_new_still_comes_last(
    services, club, played, busy, another_match, set_back
):
    busy(2)
    before = advising.live_advice(services, club, played.match, NOW)
    set_back()
    new = another_match().match
    assert [one.id for one in matches.find(services, club)] == [played.match, new]
    elm = players.create(services, club, "own", "Elm").id
    assert players.find(services, club)[-1].id == elm
    busy(1)
    after = advising.live_advice(services, club, played.match, NOW)
    assert after.id > before.id
    assert advising.live_advice(services, club, played.match, NOW).id == after.id
    with services.reading(club) as work:
        assert work.snapshots.count(played.match) == 3
