"""A club exported as JSON Lines is equal after it was imported into another engine."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from tacticapi.club import advising, clubs, entries, importing, matches, players, retention, scorekeeping
from tacticapi.club.advising import SAME
from tacticapi.club.export import KINDS, export
from tacticapi.club.importing import import_club
from tacticapi.club.services import NotFound, Refused, Services
from tacticapi.domain.situation import Moment
from tacticapi.store import new_id

from ..databases import break_copying
from .conftest import given_again

Lines = list[str]


@pytest.fixture
def exported(
    services: Services, club: str, played: Any, seen: list[dict[str, Any]], request: pytest.FixtureRequest
) -> Lines:
    """A club with a finished and a running match and every kind of row."""
    receipts = entries.add_observations(services, club, played.match, seen)
    odd = {**seen[0], "note": "é ☀ \u0000 ="}
    entries.add_observations(services, club, played.match, odd, supersedes=receipts[0].id)
    entries.add_observations(services, club, played.match, None, supersedes=receipts[1].id)
    live = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
    advising.add_feedback(services, club, live.id, live.advice.suggestions[0].tactic, kind="used")
    scorekeeping.add_tries(services, club, played.match, {"tactic": "swap-serve-spots", "tried": 3, "won": 1})
    request.getfixturevalue("finish")(played.match)
    running = request.getfixturevalue("another_match")(external_id="court-2").match
    point = {"winner": "own", "by": "Ann", "observed_at": "2026-05-01T08:00:00Z"}
    scorekeeping.add_points(services, club, running, point)
    players.create(services, club, "own", "Elm", external_id="member-17")
    return list(export(services, club))


def rows(lines: Lines) -> list[Any]:
    return [json.loads(line) for line in lines[1:]]


def test_every_kind_of_row_is_in_it_and_the_club_is_equal_in_another_engine(services, club, elsewhere, exported):
    kinds = [row.get("kind") for row in rows(exported)]
    assert list(dict.fromkeys(kinds)) == [*KINDS, None]
    assert "digest" not in {key for row in rows(exported) for key in row.get("row", {})}  # tokens are no part of it
    for word in ("court-2", "member-17", '"by":"Ann"', "2026-05-01T08:00:00"):
        assert word in "".join(exported)
    assert rows(exported)[-1] == {"end": True, "rows": len(exported) - 2}
    with pytest.raises(Refused, match="does not exist here yet"):
        import_club(services, exported)
    assert import_club(elsewhere, exported).club_id == club
    assert rows(list(export(elsewhere, club))) == rows(exported)
    with elsewhere.reading(club) as work:
        first = work.snapshots.find()[0]
    assert given_again(elsewhere, club, first.id).sort == SAME


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


def test_what_is_no_whole_export_is_refused_and_nothing_is_kept(club, elsewhere, exported):
    for name, (spoil, line) in SPOILT.items():
        with pytest.raises(Refused) as refused:
            import_club(elsewhere, spoil(exported))
        path = refused.value.faults[0].path
        assert path[0] == "line", name
        assert line is None or path[1] == line, name
        with pytest.raises(NotFound):
            next(export(elsewhere, club))
    with pytest.raises(Refused, match="a row for club"):
        import_club(elsewhere, [exported[0], *(line.replace(club, new_id()) for line in exported[1:])])


ERRORS = {"index": 0, "what": "rally.backhand_errors", "way": "count", "count": 5, "of": 9}


def kept(what: str, **said: Any) -> dict[str, Any]:
    (way,) = said
    return {"index": 0, "what": what, "way": way, **said}


BEFORE = {"day": "2026-04-01", "surface": "clay", "weight": 0.5, "seen": [ERRORS]}
EARLIER: dict[str, tuple[dict[str, Any], tuple[str | int, ...]]] = {
    "a weight above one": ({"weight": 1.5}, ("weight",)),
    "more than a match shows": ({"seen": [ERRORS] * 101}, ("seen",)),
    **{
        name: ({"seen": [seen if "what" in seen else {**ERRORS, **seen}]}, path)
        for name, seen, path in (
            ("a member of no observation", {"weight": 1}, ()),
            ("a count above its chances", {"count": 10}, ("seen", 0)),
            ("another way", {"way": "rating"}, ("seen", 0, "way")),
            ("a rating above four", kept("warmup.high_backhand", rating=5), ("seen", 0, "rating")),
            ("a text", {"index": 0, "what": "tempo.routine", "way": "text", "value": "Sleet"}, ("seen", 0, "way")),
            ("a note", {"note": "Sleet limps"}, ("seen", 0, "note")),
            ("an observer", {"by": "Alder"}, ("seen", 0, "by")),
            ("a health item", kept("physical.heavy_legs", seen=True), ("seen", 0, "what")),
            ("a health item of other rules", kept("physical.cough", seen=True), ("seen", 0, "what")),
            ("conduct", kept("conduct.disputed_calls", amount=3), ("seen", 0, "what")),
        )
    },
}
LATE = {"revision": 9_999, "confirmed": 9_999}
QUESTION: dict[str, Any] = {
    **dict.fromkeys(("limit", "minutes_left", "first_server", "previous")),
    **{subject: {} for subject in ("context", "own", "opponent")},
}  # fmt: skip
BREAKS: dict[str, tuple[str, dict[str, Any], tuple[str | int, ...]]] = {
    "days beyond the calendar": ("club", {"keep_days": 10**9}, ("keep_days",)),
    "an end beyond the calendar": ("match", {"ended_at": "9999-12-31T23:59:59-12:00"}, ("ended_at",)),
    "an ended match without its end": ("match", {"ended_at": None}, ("ended_at",)),
    "a start that no sweep reaches": ("match", {"started_at": "2400-01-01T00:00:00+00:00"}, ("started_at",)),
    "an earlier match without a day": ("match", {"earlier": [{"surface": "clay"}]}, ("earlier", 0)),
    **{
        f"earlier: {name}": ("match", {"earlier": [BEFORE | change]}, ("earlier", 0, *path))
        for name, (change, path) in EARLIER.items()
    },
    "too many earlier matches": ("match", {"earlier": [BEFORE] * 11}, ("earlier",)),
    **{
        f"advice with {name}": ("advice", {"question": QUESTION | question, **more}, path)
        for name, question, more, path in (
            ("facts that nobody can have", {"own": {"volley": 9}}, {}, ("question", "own", "volley")),
            ("points that could not be played", {"context": {"format": {"sets": 1}}}, LATE, ()),
            ("a server who is not there", {"first_server": "me"}, {}, ("question", "first_server")),
            ("no advice before it", {"previous": "1"}, {}, ("question", "previous")),
        )
    },
    "advice that stands for less than it was given for": ("advice", {"confirmed": 0}, ("confirmed",)),
    "rules that are no names": ("advice", {"fired": [{"rule": "tactic/lob/0"}]}, ()),
    "a former label that is none": ("player", {"former_labels": [""]}, ("label",)),
    "more former labels than are kept": ("player", {"former_labels": ["Reed"] * 21}, ("former_labels",)),
    "a revision below its entries": ("match", {"revision": 3}, ("revision",)),
    "an empty question": ("advice", {"question": {}}, ("question",)),
    "a correction of itself": ("point", {"supersedes": "its own id"}, ("supersedes",)),
    "a kind beside another body": ("observation", {"kind": "serve.followed_to_net"}, ("body", "what")),
    "a score that cannot be": ("point", {"body": {"score": {"sets": [[9, 0]]}}}, ()),
}


def test_what_would_break_a_later_answer_is_refused_where_it_stands(elsewhere, exported, club):
    for name, (kind, change, path) in BREAKS.items():
        content = [json.loads(line) for line in exported]
        number, row = next((n, one["row"]) for n, one in enumerate(content) if one.get("kind") == kind)
        row |= {"supersedes": row["id"]} if "supersedes" in change else change
        with pytest.raises(Refused) as refused:
            import_club(elsewhere, [json.dumps(one) for one in content])
        found = refused.value.faults[0].path
        assert found[: 3 + len(path)] == ("line", number + 1, "row", *path) or (not path and found[0] == "line"), name
    with pytest.raises(NotFound):
        next(export(elsewhere, club))


def test_sums_above_what_one_entry_holds_are_imported(club, elsewhere, exported):
    content = [json.loads(line) for line in exported]
    running = next(one["row"] for one in content if one.get("kind") == "match" and one["row"]["status"] == "open")
    seen = [{**ERRORS, "count": 30_000, "of": 40_000}, {**ERRORS, "what": "rally.of_later_rules"}]
    running["earlier"] = [{**BEFORE, "seen": seen}]
    import_club(elsewhere, [json.dumps(one) for one in content])
    live = advising.live_advice(elsewhere, club, running["id"], Moment.CHANGE_OF_ENDS)
    assert live.advice.notice[0].startswith("Some")
    assert matches.get(elsewhere, club, running["id"]).earlier == running["earlier"]


@pytest.mark.parametrize("label", ["Reed", "WLL", "moment", "conflict"])
def test_a_club_whose_texts_named_an_erased_player_is_read_and_imported(services, elsewhere, played, seen, label):
    (club,) = (one.club_id for one in clubs.every(services))
    named = players.create(services, club, "opponent", label).id
    entries.add_observations(services, club, played.match, seen[:26])
    entries.add_observations(services, club, played.match, {"what": "pressure.best_spell", "value": f"as {label} had"})
    entries.add_observations(services, club, played.match, {"what": "record.last_points", "value": "WLL"})
    given = advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS)
    assert given.advice.held_back
    retention.erase_player(services, club, named)
    assert f"as {label} had" not in "".join(export(services, club))
    assert advising.given_advice(services, club, given.id).advice.held_back == given.advice.held_back
    assert advising.live_advice(services, club, played.match, Moment.CHANGE_OF_ENDS).advice.suggestions
    lines = list(export(services, club))
    assert import_club(elsewhere, lines).club_id == club
    assert rows(list(export(elsewhere, club))) == rows(lines)


def test_a_copy_that_broke_off_leaves_no_club_and_can_be_done_again(club, elsewhere, exported, monkeypatch):
    with monkeypatch.context() as patch:  # the power goes, so that nothing is tidied up
        break_copying(patch, elsewhere, KeyboardInterrupt())
        patch.setattr(importing, "_remove", lambda *given: None)
        with pytest.raises(KeyboardInterrupt):
            import_club(elsewhere, exported)
    assert clubs.every(elsewhere) == []
    assert players.find(elsewhere, club)
    with monkeypatch.context() as patch:
        break_copying(patch, elsewhere, KeyboardInterrupt())
        with pytest.raises(KeyboardInterrupt):
            import_club(elsewhere, exported)
    assert players.find(elsewhere, club) == []
    import_club(elsewhere, exported)
    assert rows(list(export(elsewhere, club))) == rows(exported)


def test_an_export_of_before_own_ids_is_imported(services, club, elsewhere, played):
    scorekeeping.add_points(services, club, played.match, {"winner": "own"})
    added = {"match": {"external_id", "updated_at", "reopenable"}, "player": {"external_id"}, "point": {"observed_at"}}
    older = []
    for line in export(services, club):
        told = json.loads(line)
        for name in added.get(told.get("kind"), ()):
            del told["row"][name]
        older.append(json.dumps(told))
    import_club(elsewhere, older)
    match = matches.get(elsewhere, club, played.match)
    assert (match.external_id, match.updated_at, match.reopenable) == (None, match.created_at, False)


@pytest.mark.parametrize(("kind", "id"), [("player", "a/b"), ("match", "x" * 65), ("match", "a\u0000b")])
def test_what_is_no_own_id_is_not_imported(services, club, elsewhere, played, kind, id):
    lines = list(export(services, club))
    place = next(n for n, line in enumerate(lines) if json.loads(line).get("kind") == kind)
    told = json.loads(lines[place])
    told["row"]["external_id"] = id
    lines[place] = json.dumps(told)
    with pytest.raises(Refused) as refused:
        import_club(elsewhere, lines)
    assert refused.value.faults[0].path == ("line", place + 1, "row", "external_id")
