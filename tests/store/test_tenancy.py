"""Two clubs: whatever is asked of one club's repositories with the other's ids finds nothing and changes nothing."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tacticapi.club import IdempotentRequest, Services, advising, clubs, entries, matches, players, scorekeeping
from tacticapi.club.clubs import create
from tacticapi.domain.situation import Moment
from tacticapi.store import Record

from ..databases import TABLES

LATER = datetime(2100, 1, 1, tzinfo=UTC)
Call = Callable[[Any, str], Any]

COMMON: dict[str, Call] = {
    "get": lambda rows, id: rows.get(id),
    "find": lambda rows, id: [row for row in rows.find() if _id(row) == id],
    "find after": lambda rows, id: [row for row in rows.find(after=id) if row.club_id != rows.club_id],
    "stream": lambda rows, id: [row for row in rows.stream() if row.club_id != rows.club_id],
    "some": lambda rows, id: rows.some([id]),
    "ids": lambda rows, id: [one for one in rows.ids() if one == id],
    "update_all": lambda rows, id: rows.update_all({id: _change(rows)}),
    "update": lambda rows, id: rows.update(id, _change(rows)),
    "delete": lambda rows, id: rows.delete(id),
}
OF_MATCH: dict[str, Call] = {
    "count": lambda rows, id: rows.count(id),
    "delete_newest": lambda rows, id: rows.delete_newest(id, 1),
    "delete_ids": lambda rows, id: rows.delete_ids([id]),
}
ENTRIES: dict[str, Call] = {
    "of_match": lambda rows, id: rows.of_match(id),
    "page": lambda rows, id: rows.page(id),
    "successor": lambda rows, id: rows.successor(id, id),
    **OF_MATCH,
}
LISTED: dict[str, Call] = {
    "sorted_page": lambda rows, id: [
        row
        for sort in ("created_at", "-updated_at")
        for row in rows.sorted_page(sort=sort, after=id, at=LATER)
        if row.club_id != rows.club_id
    ],
}
METHODS: dict[str, dict[str, Call]] = {
    "clubs": {
        "mine": lambda rows, id: rows.mine().club_id == id,
        "update_version": lambda rows, id: rows.update_version(id, 1, {"label": "Taken"}),
    },
    "tokens": {
        "renew": lambda rows, id: [
            one for one in rows.find() if rows.renew(replace(one, id=id), {"label": "Taken"}) and one.id != id
        ],
    },
    "players": {
        "update_version": lambda rows, id: rows.update_version(id, 1, {"label": "Taken"}),
        **LISTED,
    },
    "matches": {
        **LISTED,
        "locked": lambda rows, id: rows.locked(id),
        "of_player": lambda rows, id: rows.of_player(id),
        "revision": lambda rows, id: rows.revision(id),
        "touch": lambda rows, id: rows.touch([id]),
        "touch_of_player": lambda rows, id: rows.touch_of_player(id),
        "started_before": lambda rows, id: [r for r in rows.started_before(LATER, "open") if r.club_id != rows.club_id],
        "update_version": lambda rows, id: rows.update_version(id, 1, {"status": "ended"}),
    },
    "observations": ENTRIES,
    "points": ENTRIES,
    "tries": ENTRIES,
    "snapshots": {
        "latest": lambda rows, id: rows.latest(id),
        "delete_beyond": lambda rows, id: rows.delete_beyond(id, 0),
        **OF_MATCH,
    },
    "feedback": {"of_match": lambda rows, id: rows.of_match(id), "count": lambda rows, id: rows.count(id)},
    "answers": {"settle": lambda rows, id: rows.settle(id, {"id": "stolen"})},
}
# what takes no id of a row is bound to the club by other tests: sweeping, claiming and adding
WITHOUT_ID = {
    *("add", "add_all", "add_bound", "bound", "new_id", "player_ids", "possible"),
    *("claim", "delete_before", "delete_dead", "forget_requests"),
}


def _id(row: Any) -> str:
    return str(getattr(row, "id", None) or getattr(row, "key", None) or row.club_id)


def _change(rows: Any) -> dict[str, Any]:
    column = next(c for c in rows._table.c if not c.primary_key and c.type.python_type is str)
    return {column.name: "open"}


def fill(services: Services, label: str) -> str:
    """A club with a row in every table."""
    club = create(services, label).club_id
    own = players.create(services, club, "own", f"Only {label}", once=IdempotentRequest.of(f"key of {label}", 1)).id
    opponent = players.create(services, club, "opponent", "Sleet", {"handedness": "left"}).id
    match = matches.create(services, club, own, opponent).id
    entries.add_observation(services, club, match, {"what": "serve.followed_to_net", "count": 5, "of": 6})
    scorekeeping.add_point(services, club, match, {"winner": "own"})
    scorekeeping.add_tries(services, club, match, {"tactic": "swap-serve-spots", "tried": 2, "won": 1})
    live = advising.live_advice(services, club, match, Moment.CHANGE_OF_ENDS)
    advising.add_feedback(services, club, live.id, live.advice.suggestions[0].tactic, kind="used")
    clubs.create_token(services, club, "phone", ["read"])
    return club


def everything(services: Services, club: str) -> list[Record]:
    with services.reading(club) as work:
        return [row for table in TABLES for row in getattr(work, table).find()]


@pytest.fixture
def two(services: Services) -> tuple[str, str]:
    """Our club and theirs, each with a row in every table."""
    return fill(services, "ours"), fill(services, "theirs")


def test_every_method_of_every_repository_is_tried(services: Services, club: str) -> None:
    with services.reading(club) as work:
        for table in TABLES:
            rows = getattr(work, table)
            public = {name for name in dir(rows) if not name.startswith("_") and callable(getattr(rows, name))}
            untried = public - {name.split()[0] for name in {*COMMON, *METHODS[table]}} - WITHOUT_ID - {"record"}
            assert untried - {"update_version"} == set(), table


@given(data=st.data())
@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_other_club_s_ids_find_and_change_nothing(
    services: Services, two: tuple[str, str], data: st.DataObject
) -> None:
    ours, theirs = two
    before = everything(services, theirs)
    table = data.draw(st.sampled_from(TABLES))
    calls = {**COMMON, **METHODS[table]}
    name = data.draw(st.sampled_from(sorted(calls)))
    id = _id(data.draw(st.sampled_from(before)))
    with services.work(ours) as work:
        assert not calls[name](getattr(work, table), id), (table, name)
        work.commit()
    assert everything(services, theirs) == before


def test_a_row_of_another_club_cannot_be_added(services: Services, two: tuple[str, str]) -> None:
    ours, theirs = two
    for row in everything(services, theirs):
        with services.work(ours) as work:
            repository = next(getattr(work, table) for table in TABLES if getattr(work, table).record is type(row))
            with pytest.raises(ValueError, match="another club"):
                repository.add(row)


def test_a_row_cannot_point_into_another_club(services: Services, two: tuple[str, str]) -> None:
    from tacticapi.store import ConstraintViolation

    ours, theirs = two
    stranger = players.find(services, theirs, side="own")[0].id
    match = matches.find(services, ours)[0]
    with services.work(ours) as work, pytest.raises(ConstraintViolation):
        work.matches.update(match.id, {"own_id": stranger})
    entry = entries.entries_page(services, ours, match.id, "observations")[0]
    with services.work(ours) as work, pytest.raises(ConstraintViolation):
        work.observations.add(replace(entry, id=stranger, match_id=matches.find(services, theirs)[0].id, sequence=99))


def test_sweeping_one_club_leaves_the_other(services: Services, two: tuple[str, str]) -> None:
    ours, theirs = two
    before = everything(services, theirs)
    with services.work(ours) as work:
        assert work.answers.delete_before(LATER) == 1
        assert work.answers.claim("key of theirs", "hash", LATER) is None
        work.tokens.delete_dead(LATER)
        work.commit()
    assert everything(services, theirs) == before
