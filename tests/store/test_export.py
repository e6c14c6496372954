"""A club exported as JSON Lines is equal after it was imported into another engine."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.club import (
    NotFound,
    Refused,
    Services,
    advising,
    clubs,
    entries,
    players,
    retention,
    scorekeeping,
)
from tacticapi.club.advising import SAME
from tacticapi.club.export import KINDS, export, observations_csv, points_csv
from tacticapi.club.importing import import_club
from tacticapi.domain.situation import Moment
from tacticapi.store import new_id

from .asked import given_again

Lines = list[str]


@pytest.fixture
def exported(
    services: Services, club: str, played: Any, seen: list[dict[str, Any]], request: pytest.FixtureRequest
) -> Lines:
    """A club with a finished and a running match and every kind of row."""
    receipts = entries.add_observations(services, club, played.match, seen)
    entries.add_observation(
        services, club, played.match, {**seen[0], "note": "é ☀ \u0000 ="}, supersedes=receipts[0].id
    )
    entries.add_observation(services, club, played.match, None, supersedes=receipts[1].id)
    live = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
    advising.add_feedback(services, club, live.id, live.advice.suggestions[0].tactic, kind="used")
    entries.add_tries(services, club, played.match, {"tactic": "swap-serve-spots", "tried": 3, "won": 1})
    request.getfixturevalue("finish")(played.match)
    scorekeeping.add_point(services, club, request.getfixturevalue("another_match")().match, {"winner": "own"})
    return list(export(services, club))


def rows(lines: Lines) -> list[Any]:
    return [json.loads(line) for line in lines[1:]]


def test_every_kind_of_row_is_in_it_after_those_it_points_to(exported: Lines) -> None:
    kinds = [row.get("kind") for row in rows(exported)]
    assert list(dict.fromkeys(kinds)) == [*KINDS, None]
    assert rows(exported)[-1] == {"end": True, "rows": len(exported) - 2}


def test_the_club_is_equal_in_another_engine(
    services: Services, club: str, elsewhere: Services, exported: Lines
) -> None:
    assert import_club(elsewhere, exported).club_id == club
    assert rows(list(export(elsewhere, club))) == rows(exported)
    with elsewhere.reading(club) as work:
        first = work.snapshots.find()[0]
    assert given_again(elsewhere, club, first.id).sort == SAME


def test_a_club_that_is_here_is_not_imported_over(services: Services, exported: Lines) -> None:
    with pytest.raises(Refused, match="not here yet"):
        import_club(services, exported)


def test_tokens_are_no_part_of_it(services: Services, club: str, exported: Lines) -> None:
    assert "digest" not in {key for row in rows(exported) for key in row.get("row", {})}


SPOILT: dict[str, tuple[Callable[[Lines], Lines], int | None]] = {
    "cut off": (lambda lines: lines[:-1], None),
    "no first line": (lambda lines: lines[1:], 1),
    "more after the end": (lambda lines: [*lines, lines[-2]], None),
    "a row twice": (lambda lines: [lines[0], lines[1], lines[1], *lines[2:]], None),
    "no JSON": (lambda lines: [*lines[:3], "{", *lines[3:]], 4),
    "no object": (lambda lines: [*lines[:3], "7", *lines[3:]], 4),
    "another field": (lambda lines: [lines[0], lines[1].replace('"label"', '"name"'), *lines[2:]], 2),
    "an impossible count": (lambda lines: [line.replace('"count":3', '"count":-3') for line in lines], None),
    "an impossible point": (lambda lines: [line.replace('"winner":"own"', '"winner":"me"') for line in lines], None),
    "a number as text": (lambda lines: [line.replace('"version":1', '"version":"1"') for line in lines], 2),
    "a player who is not there": (lambda lines: [line.replace('"own_id":"', '"own_id":"x') for line in lines], None),
    "no club": (lambda lines: [lines[0], '{"end": true, "rows": 0}'], 2),
    "a time of no zone": (lambda lines: [line.replace("+00:00", "") for line in lines], 2),
    "an unknown kind": (lambda lines: [line.replace('"kind":"match"', '"kind":"game"') for line in lines], None),
}


def test_what_is_no_whole_export_is_refused_and_nothing_is_kept(
    club: str, elsewhere: Services, exported: Lines
) -> None:
    for name, (spoil, line) in SPOILT.items():
        with pytest.raises(Refused) as refused:
            import_club(elsewhere, spoil(exported))
        path = refused.value.faults[0].path
        assert path[0] == "line", name
        assert line is None or path[1] == line, name
        with pytest.raises(NotFound):
            next(export(elsewhere, club))


BREAKS: dict[str, tuple[str, dict[str, Any], tuple[str | int, ...]]] = {
    "days beyond the calendar": ("club", {"keep_days": 10**9}, ("keep_days",)),
    "an end beyond the calendar": ("match", {"ended_at": "9999-12-31T23:59:59-12:00"}, ("ended_at",)),
    "an end in far years": ("match", {"ended_at": "9999-01-01T00:00:00+00:00"}, ("ended_at",)),
    "an ended match without its end": ("match", {"ended_at": None}, ("ended_at",)),
    "a start that no sweep reaches": ("match", {"started_at": "2400-01-01T00:00:00+00:00"}, ("started_at",)),
    "a prior that is no number": ("match", {"priors": {"net_rusher": float("nan")}}, ()),
    "a prior that is certain": ("match", {"priors": {"net_rusher": 1.0}}, ("priors", "net_rusher")),
    "an earlier match without a day": ("match", {"earlier": [{"surface": "clay"}]}, ("earlier", 0)),
    "a revision below its entries": ("match", {"revision": 3}, ("revision",)),
    "a lone surrogate": ("feedback", {"reason": "a\ud800"}, ("reason",)),
    "an empty situation": ("advice", {"situation": {}}, ("situation",)),
    "an empty advice": ("advice", {"advice": {}}, ("advice",)),
    "an id that no address can name": ("player", {"id": "1"}, ("id",)),
    "a number beyond its column": ("match", {"version": 2**31}, ("version",)),
    "a correction of itself": ("point", {"supersedes": "its own id"}, ("supersedes",)),
    "a kind beside another body": ("observation", {"kind": "serve.followed_to_net"}, ("body", "what")),
    "a score that cannot be": ("point", {"body": {"score": {"sets": [[9, 0]]}}}, ()),
}


@pytest.mark.parametrize("name", BREAKS)
def test_what_would_break_a_later_answer_is_refused_where_it_stands(
    elsewhere: Services, exported: Lines, club: str, name: str
) -> None:
    kind, change, path = BREAKS[name]
    content = [json.loads(line) for line in exported]
    number, row = next((n, one["row"]) for n, one in enumerate(content) if one.get("kind") == kind)
    row |= {"supersedes": row["id"]} if "supersedes" in change else change
    with pytest.raises(Refused) as refused:
        import_club(elsewhere, [json.dumps(one) for one in content])
    found = refused.value.faults[0].path
    assert found[: 3 + len(path)] == ("line", number + 1, "row", *path) or (not path and found[0] == "line")
    with pytest.raises(NotFound):
        next(export(elsewhere, club))


@pytest.mark.parametrize("label", ["Reed", "WLL", "moment", "conflict"])
def test_a_club_whose_texts_named_an_erased_player_is_read_and_imported(
    services: Services, elsewhere: Services, played: Any, seen: list[dict[str, Any]], label: str
) -> None:
    (club,) = (one.club_id for one in clubs.every(services))
    named = players.create(services, club, "opponent", label).id
    entries.add_observations(services, club, played.match, seen[:26])
    entries.add_observation(services, club, played.match, {"what": "pressure.best_spell", "value": f"as {label} had"})
    entries.add_observation(services, club, played.match, {"what": "record.last_points", "value": "WLL"})
    given = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
    assert given.advice.held_back
    retention.erase_player(services, club, named)
    assert f"as {label} had" not in "".join(export(services, club))
    assert advising.given_advice(services, club, given.id).advice.held_back == given.advice.held_back
    assert advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS).advice.suggestions
    lines = list(export(services, club))
    assert import_club(elsewhere, lines).club_id == club
    assert rows(list(export(elsewhere, club))) == rows(lines)


def test_a_row_of_another_club_is_refused(club: str, elsewhere: Services, exported: Lines) -> None:
    other = [exported[0], *(line.replace(club, new_id()) for line in exported[1:])]
    with pytest.raises(Refused, match="a row of the club"):
        import_club(elsewhere, other)


def test_observations_come_as_a_sheet(services: Services, club: str, played: Any) -> None:
    body = {"what": "serve.ad_court_spots", "counts": {"wide": 6, "body": 0, "T": 1}, "set": 1, "note": '=1+1, "x"'}
    entries.add_observation(services, club, played.match, body)
    header, line = observations_csv(services, club, played.match)
    assert header.startswith("sequence,recorded_at,what,count,of,counts")
    assert "serve.ad_court_spots" in line
    assert "wide 6; body 0; T 1" in line
    assert '"\'=1+1, ""x"""' in line  # a formula is marked as text


def test_points_come_as_a_sheet_with_the_score_before_each(services: Services, club: str, played: Any) -> None:
    scorekeeping.add_point(
        services, club, played.match, {"score": {"sets": [[6, 4]], "games": [2, 1], "server": "own"}}
    )
    scorekeeping.add_point(services, club, played.match, {"winner": "opponent", "own_error": True})
    lines = list(points_csv(services, club, played.match))
    assert lines[1:] == ["1,,0-0,0-0,own,score set by hand,\r\n", "2,6-4,2-1,0-0,own,opponent,yes\r\n"]
