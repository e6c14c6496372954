"""The service that generated clients call."""

import threading
from collections.abc import Iterator
from wsgiref.simple_server import make_server

import pytest

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.http.deployment import EXTENSION
from tacticapi.store import upgrade
from tacticapi.store.engine import file_url


@pytest.fixture(scope="module")
def service(adviser: Adviser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the application; tests/served starts `tacticapi serve`."""
    url = file_url(tmp_path_factory.mktemp("service") / "kept.db")
    upgrade(url)
    app = create_app({"ADVISER": adviser, "DATABASE_URL": url, "LOCAL": True})
    server = make_server("127.0.0.1", 0, app)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()
    app.extensions[EXTENSION].services.engine.dispose()
