"""Sheets: a template is filled in a spreadsheet and comes back as entries of the match."""

import csv
import io
from typing import Any

import pytest

from .conftest import Caller, Played

OBSERVED = "/v1/templates/observations.csv"


def post(caller: Caller, address: str, sheet: str | bytes, **headers: str) -> Any:
    return caller.call("POST", address, data=sheet, headers={"Content-Type": "text/csv", **headers})


def test_a_template_asks_every_question_of_the_warm_up(caller: Caller) -> None:
    answer = caller.get(OBSERVED, query_string={"phase": "warm-up"})
    assert answer.mimetype == "text/csv"
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    asked = {row["what"]: row["asks"] for row in rows}
    assert "warmup.middle_ball_on_forehand" in asked
    assert all(asked.values())
    assert len(list(csv.DictReader(io.StringIO(caller.get(OBSERVED).text)))) > len(rows)


def test_a_filled_template_becomes_what_was_seen_and_empty_rows_nothing(caller: Caller, played: Played) -> None:
    rows = list(csv.DictReader(io.StringIO(caller.get(OBSERVED).text)))
    filled: dict[str, dict[str, str]] = {
        "warmup.middle_ball_on_forehand": {"count": "7", "of": "8.0", "note": "shaded spot, wind"},
        "warmup.high_backhand": {"rating": "1"},
        "warmup.serve_spots": {"counts": "wide 4; body 1; T 1", "court": "ad"},
        "warmup.net_time": {"value": "many"},
        "warmup.fed_forehand": {"amount": "14,5"},
    }
    for row in rows:
        row.update(filled.get(row["what"], {}))
    sheet = io.StringIO()
    writer = csv.DictWriter(sheet, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    answer = post(caller, f"{played.address}/observations.csv", sheet.getvalue())
    assert answer.status_code == 200, answer.text
    assert (answer.json["added"], answer.json["refused"]) == (len(filled), 0)
    kept = {item["observation"]["what"]: item["observation"] for item in listed(caller, played, "observations")}
    assert kept["warmup.middle_ball_on_forehand"]["of"] == 8
    assert kept["warmup.serve_spots"]["counts"] == {"wide": 4, "body": 1, "T": 1}
    assert kept["warmup.fed_forehand"]["amount"] == 14.5


def listed(caller: Caller, played: Played, noun: str) -> list[Any]:
    answer = caller.get(f"{played.address}/{noun}").json
    assert answer
    items: list[Any] = answer["items"]
    return items


def test_of_a_sheet_each_good_row_is_added_and_each_other_is_told_with_its_line(caller: Caller, played: Played) -> None:
    sheet = "what;rating;count;of\r\nwarmup.high_backhand;1;;\r\n;;;\r\nwarmup.high_backhand;much;;\r\nno.such;;1;2\r\n"
    answer = post(caller, f"{played.address}/observations.csv", "\ufeff".encode() + sheet.encode())
    assert answer.json["added"] == 1
    good, word, unknown = answer.json["items"]
    assert (good["line"], word["line"], unknown["line"]) == (2, 4, 5)
    assert word["errors"][0]["pointer"] == "/rating"
    assert word["errors"][0]["value"] == "much"
    assert unknown["errors"][0]["pointer"] == "/what"


def test_an_exported_match_can_be_brought_into_another(caller: Caller, under_way: Played) -> None:
    body = {"own_id": under_way.own, "opponent_id": under_way.opponent, "first_server": "own"}
    other = f"/v1/matches/{caller.made('/v1/matches', body)['id']}"
    for noun in ("observations", "points"):
        exported = caller.get(f"{under_way.address}/{noun}.csv").text
        answer = post(caller, f"{other}/{noun}.csv", exported)
        assert answer.status_code == 200, answer.text
        assert answer.json["refused"] == 0
        assert table(caller.get(f"{other}/{noun}.csv").text) == table(exported)


def table(sheet: str) -> list[dict[str, str]]:
    """The rows without what differs from match to match."""
    rows = csv.DictReader(io.StringIO(sheet))
    return [{name: row[name] for name in row if name not in ("sequence", "recorded_at")} for row in rows]


def test_points_of_a_sheet_follow_each_other(caller: Caller, played: Played) -> None:
    template = caller.get("/v1/templates/points.csv").text
    answer = post(caller, f"{played.address}/points.csv", f"{template}own,\r\nopponent,yes\r\nown,\r\n")
    assert answer.json["added"] == 3
    score = caller.get(f"{played.address}/score").json
    assert score
    assert score["score"]["points"] == ["30", "15"]


def test_of_faulty_points_none_is_added(caller: Caller, played: Played) -> None:
    answer = post(caller, f"{played.address}/points.csv", "winner\nown\nthem\n")
    assert answer.status_code == 422
    assert answer.json["errors"] == [{"pointer": "/3/winner", "value": "them", "expected": "own or opponent"}]
    assert listed(caller, played, "points") == []


def test_points_behind_the_end_of_a_match_are_refused(caller: Caller, played: Played) -> None:
    answer = post(caller, f"{played.address}/points.csv", "winner\n" + "own\n" * 49)
    assert answer.status_code == 422
    assert listed(caller, played, "points") == []
    assert post(caller, f"{played.address}/points.csv", "winner\n" + "own\n" * 48).json["added"] == 48


def test_a_sheet_that_is_sent_twice_is_added_once(caller: Caller, played: Played) -> None:
    key = {"Idempotency-Key": "sheet-1"}
    first = post(caller, f"{played.address}/points.csv", "winner\nown\n", **key)
    assert post(caller, f"{played.address}/points.csv", "winner\nown\n", **key).json == first.json
    assert len(listed(caller, played, "points")) == 1


@pytest.mark.parametrize(
    ("sheet", "expected"),
    [
        (b"", "a header with the column what"),
        (b"count,of\n1,2\n", "a header with the column what"),
        (b"what,colour\n", "no other column"),
        (b"what,what\n", "one column of this name"),
        (b"what\n\xff\n", "CSV in UTF-8"),
        (b"what,note\nwarmup.high_backhand,a\x00b\n", "CSV without NUL"),
    ],
)
def test_what_is_no_such_sheet_is_refused(caller: Caller, played: Played, sheet: bytes, expected: str) -> None:
    address = f"{played.address}/observations.csv"
    answer = post(caller, address, sheet)
    assert answer.status_code == 422
    assert expected in answer.text
    assert post(caller, address, sheet, **{"Content-Type": "text/plain"}).status_code == 415


@pytest.mark.parametrize(
    ("sheet", "status", "told"),
    [
        (b"what\n" + b"x" * 131_073, 422, "CSV: field larger than field limit (131072)"),
        (b"what\n" + b"x\n" * 2_001, 413, "at most 2,000 filled rows"),
    ],
    ids=["one huge cell", "too many rows"],
)
def test_a_sheet_beyond_measure_is_refused_as_a_whole(
    caller: Caller, played: Played, sheet: bytes, status: int, told: str
) -> None:
    answer = post(caller, f"{played.address}/observations.csv", sheet)
    assert answer.status_code == status
    assert told in ([error["expected"] for error in answer.json.get("errors", [])] or [answer.json["detail"]])
    assert listed(caller, played, "observations") == []


def test_a_formula_in_a_note_goes_out_marked_and_comes_back_as_it_was(caller: Caller, played: Played) -> None:
    caller.made(f"{played.address}/observations", {"what": "warmup.high_backhand", "rating": 1, "note": "=1+1"})
    exported = caller.get(f"{played.address}/observations.csv").text
    assert "'=1+1" in exported
    post(caller, f"{played.address}/observations.csv", exported)
    assert [item["observation"]["note"] for item in listed(caller, played, "observations")] == ["=1+1", "=1+1"]
