"""Tokenless access to what is kept ends with the first token, in every worker that runs already."""

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from click.testing import CliRunner

from tacticapi.cli import main

from .running import SITUATION, Service, running


@contextmanager
def only(service: Service, worker: int) -> Iterator[None]:
    """Let this worker alone answer: the others are halted for a moment."""
    halted = [other for other in service.workers() if other != worker]
    for other in halted:
        os.kill(other, signal.SIGSTOP)
    try:
        yield
    finally:
        for other in halted:
            os.kill(other, signal.SIGCONT)


def told(database: Path, *words: str) -> str:
    ran = CliRunner().invoke(main, words, env={"TACTICAPI_DB": str(database)}, catch_exceptions=False)
    assert ran.exit_code == 0, ran.output
    return ran.stdout.strip()


def test_a_token_made_on_the_command_line_closes_every_running_worker(tmp_path):
    database = tmp_path / "kept.db"
    with running(tmp_path, TACTICAPI_WORKERS="2") as service:
        workers = service.workers()
        assert len(workers) == 2
        for worker in workers:
            with only(service, worker):
                assert service.get("/v1/players").status_code == 200
        service.made("/v1/players", {"side": "own", "label": "Larch"})
        club = service.get("/v1/club").json()["id"]

        text = told(database, "token", "create", club, "--scope", "read")
        for worker in workers:
            with only(service, worker):
                refused = service.get("/v1/players")
                assert (refused.status_code, refused.json()["type"]) == (401, "/problems/token-needed")
                assert service.post("/v1/players", {"side": "own", "label": "Elm"}).status_code == 401
                assert service.post("/v1/suggestions", SITUATION).status_code == 200
                opened = service.get("/v1/players", headers={"Authorization": f"Bearer {text}"})
                assert [player["label"] for player in opened.json()["items"]] == ["Larch"]
        assert service.workers() == workers  # none was started anew in between
