"""The service stops, and workers are replaced, without losing what was acknowledged."""

import sqlite3
import threading
from contextlib import closing

import requests

from .running import SEEN, running

CLIENTS = 4
BEFORE_THE_STOP = 40


def test_what_was_acknowledged_before_the_service_stopped_is_kept(tmp_path):
    acknowledged: list[str] = []
    failed: list[int] = []
    with running(tmp_path, TACTICAPI_WORKERS="2") as service:
        match, enough = service.match(), threading.Event()

        def post_until_it_is_gone() -> None:
            while True:
                try:
                    answer = service.post(f"{match}/observations", SEEN)
                except requests.ConnectionError:
                    return
                if answer.status_code != 201:
                    failed.append(answer.status_code)
                    return
                acknowledged.append(answer.json()["id"])
                if len(acknowledged) >= BEFORE_THE_STOP:
                    enough.set()

        clients = [threading.Thread(target=post_until_it_is_gone) for _ in range(CLIENTS)]
        for client in clients:
            client.start()
        assert enough.wait(60)
        service.process.terminate()
        for client in clients:
            client.join(60)
        assert service.process.wait(60) == 0
    assert not failed
    assert len(acknowledged) >= BEFORE_THE_STOP
    with closing(sqlite3.connect(tmp_path / "kept.db")) as kept:
        assert set(acknowledged) <= {entry for (entry,) in kept.execute("SELECT id FROM observations")}


def test_workers_are_replaced_after_so_many_requests_and_nobody_notices(tmp_path):
    with running(tmp_path, TACTICAPI_RECYCLE="15") as service:
        first = service.workers()
        assert [service.get("/livez").status_code for _ in range(20)] == [200] * 20
        assert not set(first) & set(service.workers())
        assert len(service.workers()) == 1
        assert service.counted("tacticapi_request_seconds_count") >= 20
