"""The dossier, the club with its export, and a player erased; each needs its scope and the right club."""

import json
from typing import Any

from tacticapi.club import entries, matches, players
from tacticapi.club.export import export


def test_the_dossier_is_what_the_contract_says(client, ids, valid):
    address = f"/v1/players/{ids.opponent}/dossier"
    told, other = (client.get(f"{address}?surface={surface}").json for surface in ("hard", "clay"))
    valid("Dossier", told)
    assert [match["match_id"] for match in told["matches"]] == [ids.match]
    assert told["beliefs"][0]["because"]
    assert other["matches"][0]["weight"] < told["matches"][0]["weight"]
    assert client.get(f"{address}?surface=ice").status_code == 422
    document = client.get(address, headers={"Accept": "text/markdown"})
    assert document.mimetype == "text/markdown"
    assert document.text.startswith("# Dossier: Sleet\n")
    assert "| day | surface |" in document.text
    assert client.get(f"/v1/players/{ids.own}/dossier").status_code == 404


def test_a_match_that_is_played_is_no_part_of_the_dossier(client, services, ids):
    opponent = players.create(services, ids.club, "opponent", "Two at once").id
    address = f"/v1/players/{opponent}/dossier"
    first = matches.create(services, ids.club, ids.own, opponent).id
    entries.add_observations(services, ids.club, first, {"what": "warmup.low_forehand", "rating": 0})
    assert client.get(address).json["matches"] == []
    second = matches.create(services, ids.club, ids.own, opponent).id
    assert client.get(address).json["playing"] == [first, second]
    matches.end(services, ids.club, first)
    told: Any = client.get(address).json
    assert ([m["match_id"] for m in told["matches"]], told["playing"]) == ([first], [second])
    matches.end(services, ids.club, second)


def test_the_club_is_changed_by_the_version_that_was_read(client, valid):
    read = client.get("/v1/club")
    valid("Club", read.json)
    tag = read.headers["ETag"]
    assert client.get("/v1/club", headers={"If-None-Match": tag}).status_code == 304
    assert client.patch("/v1/club", json={"keep_days": 30}).status_code == 428
    changed = client.patch("/v1/club", json={"keep_days": None}, headers={"If-Match": tag})
    assert (changed.json.get("keep_days"), changed.json["label"]) == (None, "Two Kilns")
    assert client.patch("/v1/club", json={"keep_days": 30}, headers={"If-Match": tag}).status_code == 412
    now = {"If-Match": changed.headers["ETag"]}
    for body in ({}, {"label": None}, {"keep_days": 0}, {"keep_days": "30"}, {"colour": 1}):
        assert client.patch("/v1/club", json=body, headers=now).status_code == 422, body


def test_the_export_is_that_of_the_service(client, services, ids):
    response = client.get("/v1/club/export", headers={"Accept": "application/x-ndjson"})
    assert response.mimetype == "application/x-ndjson"
    sent, made = response.text.splitlines(), [line.rstrip("\n") for line in export(services, ids.club)]
    assert sent[1:] == made[1:]
    assert json.loads(sent[-1])["rows"] == len(sent) - 2
    told = client.get("/v1/club/export").json
    assert told[1:] == [json.loads(line) for line in sent[1:]]


def test_a_player_is_erased(client, new_match):
    gone = new_match("Gone")
    response = client.delete(f"/v1/players/{gone.opponent}")
    assert (response.status_code, response.data) == (204, b"")
    for method in ("GET", "DELETE"):
        assert client.open(f"/v1/players/{gone.opponent}", method=method).status_code == 404
    told = client.get(f"/v1/matches/{gone.match}/debrief", headers={"Accept": "text/markdown"}).text
    assert "a player who was erased" in told
    assert "Gone" not in told.replace("Larch against Gone", "")
