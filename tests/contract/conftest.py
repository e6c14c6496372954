"""An application on an empty database, and the contract that it serves, ready for requests without a socket."""

import json
import os
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import schemathesis
from flask import Flask
from schemathesis.config import SchemathesisConfig
from schemathesis.schemas import BaseSchema
from schemathesis.transport.wsgi import WSGITransport

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
OF_A_NETWORK = ("max_redirects", "verify", "cert", "proxies")

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


@pytest.fixture
def in_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Requests that a check repeats carry settings of a network, which the sending without one does not take."""
    sent = WSGITransport.send

    def send(transport: WSGITransport, case: Any, **told: Any) -> Any:
        return sent(transport, case, **{name: value for name, value in told.items() if name not in OF_A_NETWORK})

    monkeypatch.setattr(WSGITransport, "send", send)


@pytest.fixture
def contract(app: Flask, token: str, in_process: None) -> NewContract:
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
        made = schemathesis.openapi.from_wsgi("/openapi.json", app, config=SchemathesisConfig.from_dict(settings))
        made.hook("filter_body")(lambda context, body: is_json_that_everyone_reads_alike(body))
        return made

    return made
