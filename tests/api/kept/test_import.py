"""An export is read into a club over HTTP: all of it or nothing, and while other requests of the service go on."""

import json
import re
from dataclasses import replace
from typing import Any

import pytest

from tacticapi.api.http.bodies import MAX_IMPORT
from tacticapi.club import clubs, importing

from ...databases import break_copying
from .conftest import ON_BOTH_ENGINES, Caller, Played

LINES = "application/x-ndjson"


def exported(caller: Caller) -> list[str]:
    return caller.get("/v1/club/export", headers={"Accept": LINES}).text.splitlines()


def read_in(caller: Caller, lines: list[str], **more: Any) -> Any:
    return caller.call("POST", "/v1/club/import", data="\n".join(lines) + "\n", content_type=LINES, **more)


def rows(lines: list[str], club: str) -> list[Any]:
    """The rows but that of the club, as those of one club."""
    return [row for line in lines[1:] if (row := json.loads(line.replace(club, "ours"))).get("kind") != "club"]


@pytest.fixture
def advised(caller: Caller, under_way: Played) -> list[str]:
    """The export of our club, with advice and what became of it."""
    caller.made(f"{under_way.address}/tries", {"tactic": "swap-serve-spots", "tried": 4, "won": 2})
    advice = caller.get(f"{under_way.address}/suggestions?moment=change-of-ends").json
    body = {"tactic": advice["suggestions"][0]["tactic"], "kind": "used"}
    caller.made(f"/v1/advice/{advice['advice_id']}/feedback", body)
    return exported(caller)


@ON_BOTH_ENGINES
def test_a_club_reads_the_export_of_another_and_goes_on_from_it(caller, stranger, advised, under_way):
    answered = read_in(stranger, advised)
    assert (answered.status_code, answered.json) == (200, {"rows": len(advised) - 3, "matches": 1})
    assert rows(exported(stranger), stranger.club) == rows(advised, caller.club)
    assert stranger.get("/v1/club").json["label"] == "Heron Weir"
    for club in (caller, stranger):
        assert club.post(f"{under_way.address}/points", {"winner": "own"}).status_code == 201
        assert club.get(f"{under_way.address}/suggestions?moment=change-of-ends").json["suggestions"]


@pytest.mark.parametrize(
    ("spoil", "pointer"),
    [
        (lambda lines: [*lines[:3], lines[3].replace('"opponent"', '"third"'), *lines[4:]], "/line/4/row/side"),
        (lambda lines: [*lines[:5], "\udce9", *lines[5:]], "/line/6"),
        (lambda lines: [lines[0].replace("tacticapi", "other"), *lines[1:]], "/line/1"),
        (lambda lines: ["", *lines], "/line/1"),
    ],
)
def test_a_fault_names_its_line_and_nothing_is_read(stranger, advised, spoil, pointer):
    sent = "\n".join(spoil(advised)).encode(errors="surrogateescape")
    refused = stranger.call("POST", "/v1/club/import", data=sent, content_type=LINES)
    assert refused.status_code == 422
    assert re.fullmatch(pointer, refused.json["errors"][0]["pointer"])
    assert stranger.get("/v1/players").json == {"items": []}
    assert read_in(stranger, advised).status_code == 200


def test_a_club_with_players_is_not_read_into(caller, stranger, advised):
    assert read_in(stranger, advised).status_code == 200
    for club in (caller, stranger):
        refused = read_in(club, advised)
        assert (refused.status_code, refused.json["errors"][0]["code"]) == (409, "club-not-empty")
        assert len(club.get("/v1/matches").json["items"]) == 1


def test_what_is_no_export_is_refused(stranger, advised):
    assert stranger.post("/v1/club/import", [1]).status_code == 415
    assert read_in(stranger, advised, headers={"Content-Encoding": "gzip"}).status_code == 415
    assert read_in(stranger, []).status_code == 422
    refused = read_in(stranger, ["x" * MAX_IMPORT])
    assert (refused.status_code, refused.json["detail"]) == (413, f"at most {MAX_IMPORT} bytes")
    assert stranger.post("/v1/players", {"side": "own", "label": "x" * (1 << 20)}).status_code == 413


def test_a_copy_that_fails_leaves_nothing(services, stranger, advised, monkeypatch):
    with monkeypatch.context() as patch:
        break_copying(patch, services, RuntimeError("the disk is full"))
        with pytest.raises(RuntimeError):
            importing.fill_club(services, stranger.club, advised)
    assert stranger.get("/v1/players").json == stranger.get("/v1/matches").json == {"items": []}
    assert read_in(stranger, advised).status_code == 200


@ON_BOTH_ENGINES
def test_until_an_import_that_broke_off_is_sent_again_nothing_of_the_club_is_shown(
    services, caller, stranger, advised, monkeypatch
):
    with monkeypatch.context() as patch:  # the power goes, so that nothing is tidied up
        break_copying(patch, services, KeyboardInterrupt())
        for name in ("_empty", "_settle"):
            patch.setattr(importing, name, lambda *given: None)
        with pytest.raises(KeyboardInterrupt):
            importing.fill_club(services, stranger.club, advised)
    for refused in (stranger.get("/v1/players"), stranger.post("/v1/players", {"side": "own", "label": "Elm"})):
        assert (refused.status_code, refused.json["type"]) == (503, "/problems/not-ready")
        assert refused.headers["Retry-After"]
    assert caller.get("/v1/players").status_code == 200
    at_once = read_in(stranger, advised)  # it may still be under way elsewhere
    assert (at_once.status_code, at_once.json["errors"][0]["code"]) == (409, "import-under-way")
    later = replace(services, now=lambda: services.now() + importing.STALE)
    importing.fill_club(later, stranger.club, advised)
    assert rows(exported(stranger), stranger.club) == rows(advised, caller.club)


def test_this_machine_s_club_is_read_without_a_token(new_app, services, caller, advised):
    for token in clubs.tokens_of(services, caller.club):
        with services.work(caller.club) as work:
            work.tokens.delete(token.id)
    here = Caller(new_app(LOCAL=True), None)
    assert read_in(here, advised).status_code == 200
    assert [one["label"] for one in here.get("/v1/players").json["items"]] == ["Larch", "Sleet"]
    assert here.get("/v1/club").json["label"] == "local"
