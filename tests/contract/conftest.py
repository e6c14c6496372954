"""An application on an empty database, and the contract that it serves, ready for requests of any kind."""

import json
import os
import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import schemathesis
from flask import Flask
from schemathesis.config import SchemathesisConfig
from schemathesis.schemas import BaseSchema
from werkzeug.serving import WSGIRequestHandler, make_server

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.deployment import EXTENSION
from tacticapi.api.strict_json import StrictJsonError, strict_json
from tacticapi.service import clubs, tokens
from tacticapi.store import upgrade
from tacticapi.store.settings import file_url

EXAMPLES = int(os.environ.get("CONTRACT_EXAMPLES", "100"))  # of each operation; the nightly run asks for more
# what no schema can say is refused with 422: that two fields exclude each other, that a score cannot come about
ANSWERS_TO_WELL_FORMED_REQUESTS = ["2xx", "304", "401", "404", "409", "412", "422", "428"]

NewContract = Callable[..., BaseSchema]


@pytest.fixture(scope="session")
def app(adviser: Adviser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    url = file_url(tmp_path_factory.mktemp("contract") / "kept.db")
    upgrade(url)
    app = create_app({"ADVISER": adviser, "DATABASE_URL": url})
    yield app
    app.extensions[EXTENSION].desk.engine.dispose()


@pytest.fixture(scope="session")
def token(app: Flask) -> str:
    desk = app.extensions[EXTENSION].desk
    return tokens.create(desk, clubs.create(desk, "Two Kilns").club_id, "phone", tokens.SCOPES).text


def is_json_that_everyone_reads_alike(body: Any) -> bool:
    """Whether it keeps the rules that no schema can state; tests/hostile posts what does not."""
    try:
        strict_json(json.dumps(body).encode())
    except StrictJsonError:
        return False
    except TypeError:
        return True  # no JSON at all, which the contract does speak of
    return True


class Quiet(WSGIRequestHandler):
    """Answers without a line for each request."""

    def log(self, type: str, message: str, *args: Any) -> None:
        """Say nothing."""


@pytest.fixture(scope="session")
def address(app: Flask) -> Iterator[str]:
    """Where the application is served, in a thread of this process."""
    server = make_server("127.0.0.1", 0, app, request_handler=Quiet)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.port}"
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture
def contract(address: str, token: str) -> NewContract:
    """The contract with these phases, its requests the same in every run."""

    def made(*phases: str) -> BaseSchema:
        all_phases = ("examples", "coverage", "fuzzing", "stateful")
        settings: dict[str, Any] = {
            "seed": 1,
            "headers": {"Authorization": f"Bearer {token}"},
            "generation": {
                "max-examples": EXAMPLES,
                "deterministic": True,
                "database": "none",
                "allow-x00": False,
                "no-shrink": True,
            },
            "phases": {name: {"enabled": name in phases} for name in all_phases},
            "checks": {
                "positive_data_acceptance": {"expected-statuses": ANSWERS_TO_WELL_FORMED_REQUESTS},
                "missing_required_header": {"expected-statuses": ["4xx"]},  # 428 where If-Match is missing
            },
        }
        made = schemathesis.openapi.from_url(f"{address}/openapi.json", config=SchemathesisConfig.from_dict(settings))
        made.hook("filter_body")(lambda context, body: is_json_that_everyone_reads_alike(body))
        return made

    return made
