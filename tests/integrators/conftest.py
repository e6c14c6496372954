"""The service that generated clients call."""

import threading
from collections.abc import Iterator
from wsgiref.simple_server import make_server

import pytest

from tacticapi.advice import Adviser

from ..databases import app_on, new_database


@pytest.fixture(scope="module")
def service(adviser: Adviser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the application; tests/served starts `tacticapi serve`."""
    with app_on(new_database("sqlite", tmp_path_factory.mktemp("service")), adviser, LOCAL=True) as app:
        server = make_server("127.0.0.1", 0, app)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()
        server.server_close()
