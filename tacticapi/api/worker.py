"""gunicorn's sync worker, whose own refusals (no HTTP, too long, an unknown expectation) are problem documents too."""

import json
import uuid
from http import HTTPStatus
from typing import Any

from gunicorn.util import write_nonblock
from gunicorn.workers.sync import SyncWorker

from tacticapi.api.headers import REQUEST_ID, SAFE_HEADERS
from tacticapi.api.problems import MEDIA_TYPE, problem_body, problem_of, shortened


class ProblemWorker(SyncWorker):
    """Answers one request at a time, faults of the HTTP itself included."""

    def handle_error(self, req: Any, client: Any, addr: Any, exc: BaseException) -> None:
        """Let gunicorn judge and log the fault, then tell it in the one error shape."""
        judged = _Judgement()
        super().handle_error(req, judged, addr, exc)
        detail = str(exc) if judged.status < 500 else None
        try:
            write_nonblock(client, problem_answer(judged.status, detail))
        except Exception:
            self.log.debug("A client was gone before its problem could be told.")


class _Judgement:
    """Stands in for the client's socket and keeps the status of the page that gunicorn would have sent."""

    status = int(HTTPStatus.BAD_REQUEST)

    def gettimeout(self) -> float:
        """Say that writing never waits."""
        return 0.0

    def sendall(self, page: bytes) -> None:
        """Keep the status of the page."""
        self.status = int(page.split(b" ", 2)[1])


def problem_answer(status: int, detail: str | None) -> bytes:
    """A whole HTTP answer that tells the problem and ends the connection."""
    body = problem_body(problem_of(status), shortened(detail), ())
    text = json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
    headers = {
        "Connection": "close",
        "Content-Type": MEDIA_TYPE,
        "Content-Length": len(text),
        REQUEST_ID: uuid.uuid4().hex,
        **SAFE_HEADERS,
    }
    lines = [f"HTTP/1.1 {status} {HTTPStatus(status).phrase}", *(f"{name}: {value}" for name, value in headers.items())]
    return "\r\n".join([*lines, "", ""]).encode("ascii") + text
