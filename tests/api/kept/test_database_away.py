"""A database that is locked, full or not there: 503 with Retry-After, and again in order without a restart."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import event

from tacticapi.service import Desk
from tacticapi.store.settings import file_url

PATIENCE_MS = 20


@pytest.fixture
def hurried(desk: Desk) -> Iterator[Desk]:
    """The desk with a database that waits for another writer only for a moment."""

    def hurry(connection: sqlite3.Connection, *more: Any) -> None:
        connection.execute(f"PRAGMA busy_timeout={PATIENCE_MS}").close()

    event.listen(desk.engine, "connect", hurry)
    desk.engine.dispose()
    yield desk
    event.remove(desk.engine, "connect", hurry)
    desk.engine.dispose()


def away(response: Any) -> bool:
    assert response.status_code == 503, response.text
    assert response.json["type"] == "/problems/database-away"
    assert int(response.headers["Retry-After"]) > 0
    assert response.content_type == "application/problem+json"
    return True


def test_a_locked_database_is_answered_and_recovers(caller: Any, played: Any, hurried: Desk) -> None:
    address = f"{played.address}/points"
    assert caller.get(address).status_code == 200
    with closing(sqlite3.connect(str(hurried.engine.url.database), isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        assert away(caller.post(address, {"winner": "own"}, headers={"Idempotency-Key": "a"}))
        assert caller.get(address).json == {"items": []}
        other.execute("ROLLBACK")
    caller.made(address, {"winner": "own"}, headers={"Idempotency-Key": "a"})
    assert len(caller.get(address).json["items"]) == 1


def test_a_full_disk_is_answered_and_recovers(caller: Any, played: Any, desk: Desk) -> None:
    address, note = f"{played.address}/observations", "x" * 500
    seen = [{"what": "warmup.low_forehand", "rating": 1, "note": note}] * 200

    def full(connection: sqlite3.Connection, *more: Any) -> None:
        connection.execute("PRAGMA max_page_count=1").close()  # which sqlite takes as: no page more than there are

    event.listen(desk.engine, "connect", full)
    desk.engine.dispose()
    try:
        assert away(caller.post(address, seen))
        assert caller.get(address).json == {"items": []}
    finally:
        event.remove(desk.engine, "connect", full)
        desk.engine.dispose()
    assert len(caller.made(address, seen)["items"]) == 200


def test_a_database_that_is_not_there_is_answered(new_app: Any, tmp_path: Path, caller: Any) -> None:
    app: Flask = new_app(DATABASE_URL=file_url(tmp_path / "no such folder" / "club.db"))
    assert away(type(caller)(app, caller.token).get("/v1/players"))
    assert away(app.test_client().get("/readyz"))
    assert app.test_client().get("/livez").status_code == 200
    assert app.test_client().post("/v1/suggestions", json={"moment": "set-break"}).status_code == 200


def test_readiness_includes_the_schema(new_app: Any, tmp_path: Path, desk: Desk) -> None:
    assert new_app().test_client().get("/readyz").json["database"] == "sqlite"
    response = new_app(DATABASE_URL=file_url(tmp_path / "empty.db")).test_client().get("/readyz")
    assert (response.status_code, response.json["type"]) == (503, "/problems/not-ready")
    assert "tacticapi db upgrade" in response.json["detail"]
