"""An application on an empty database, and the contract that it serves, ready for requests of any kind.

They are asked without a socket; with CONTRACT_SERVED=1, as in the nightly run, of `tacticapi serve`.
"""

import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from flask import Flask
from schemathesis.config import SchemathesisConfig
from schemathesis.schemas import BaseSchema
from schemathesis.transport.wsgi import WSGITransport

from tacticapi.advice import Adviser
from tacticapi.api.http.deployment import EXTENSION
from tacticapi.club import clubs
from tacticapi.posted import StrictJsonError, strict_json
from tacticapi.store import upgrade
from tacticapi.store.engine import file_url

from ..databases import app_on
from ..served.running import running

SERVED = os.environ.get("CONTRACT_SERVED") == "1"
EXAMPLES = int(os.environ.get("CONTRACT_EXAMPLES", "25"))  # of each operation; the nightly run asks for more
# what no schema can say is refused with 422: that two fields exclude each other, that a score cannot come about
ANSWERS_TO_WELL_FORMED_REQUESTS = ["2xx", "304", "401", "404", "409", "412", "422", "428"]
# 414 is what a server says to an address that a generated parameter makes too long, 412 what it says to a change of
# another version, whose body it does not read
REFUSALS = ["400", "401", "403", "404", "405", "406", "409", "412", "414", "415", "422", "428", "429", "431"]
GENERATION = {"deterministic": True, "database": "none", "allow-x00": False, "no-shrink": True}
OF_A_NETWORK = ("max_redirects", "verify", "cert", "proxies")

NewContract = Callable[..., BaseSchema]


@schemathesis.serializer("application/x-ndjson")
def as_lines(context: Any, value: Any) -> bytes:
    """Send what was made up for JSON Lines as it is: a text."""
    return str(value).encode(errors="replace")


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("contract")


@pytest.fixture(scope="session")
def app(adviser: Adviser, folder: Path) -> Iterator[Flask]:
    address = file_url(folder / "kept.db")
    upgrade(address)
    with app_on(address, adviser) as app:
        yield app


@pytest.fixture(scope="session")
def token(app: Flask) -> str:
    services = app.extensions[EXTENSION].services
    return clubs.create_token(services, clubs.create(services, "Two Kilns").club_id, "phone", clubs.SCOPES).text


@pytest.fixture(scope="session")
def address(folder: Path, token: str) -> Iterator[str | None]:
    """Where the application is served; None where it is asked without a socket."""
    if not SERVED:
        yield None
        return
    with running(folder, TACTICAPI_RATE_PER_TOKEN="none", TACTICAPI_RATE_LOOPBACK="none") as service:
        yield service.address


def is_json_that_everyone_reads_alike(body: Any) -> bool:
    """Whether it keeps the rules that no schema can state; tests/hostile posts what does not."""
    try:
        strict_json(json.dumps(body).encode())
    except StrictJsonError:
        return False
    except TypeError:
        pass  # no JSON at all, which the contract does speak of
    return True


@pytest.fixture
def in_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Requests that a check repeats carry settings of a network, which the sending without one does not take."""
    sent = WSGITransport.send

    def send(transport: WSGITransport, case: Any, **told: Any) -> Any:
        return sent(transport, case, **{name: value for name, value in told.items() if name not in OF_A_NETWORK})

    monkeypatch.setattr(WSGITransport, "send", send)


@pytest.fixture
def contract(app: Flask, address: str | None, token: str, in_process: None) -> NewContract:
    """The contract with these phases, its requests the same in every run."""

    def made(*phases: str) -> BaseSchema:
        all_phases = ("examples", "coverage", "fuzzing", "stateful")
        settings: dict[str, Any] = {
            "seed": 1,
            "headers": {"Authorization": f"Bearer {token}", "Accept-Encoding": "identity"},  # no socket, no unpacking
            "generation": {"max-examples": EXAMPLES, **GENERATION},
            "phases": {name: {"enabled": name in phases} for name in all_phases},
            "checks": {
                "positive_data_acceptance": {"expected-statuses": ANSWERS_TO_WELL_FORMED_REQUESTS},
                "negative_data_rejection": {"expected-statuses": REFUSALS},
                "missing_required_header": {"expected-statuses": ["4xx"]},  # 428 where If-Match is missing
            },
        }
        config = SchemathesisConfig.from_dict(settings)
        made = (
            schemathesis.openapi.from_url(f"{address}/openapi.json", config=config)
            if address
            else schemathesis.openapi.from_wsgi("/openapi.json", app, config=config)
        )
        made.hook("filter_body")(lambda context, body: is_json_that_everyone_reads_alike(body))
        return made

    return made
