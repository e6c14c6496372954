"""A client in TypeScript, generated from the contract by a public generator, compiles strictly and keeps a match."""

import shutil
import subprocess
import threading
from collections.abc import Iterator
from pathlib import Path
from wsgiref.simple_server import make_server

import pytest

from tacticapi.advice import Adviser
from tacticapi.api import create_app
from tacticapi.api.http.deployment import EXTENSION
from tacticapi.store import upgrade
from tacticapi.store.engine import file_url

PROJECT = Path(__file__).parent / "typescript"
MAX_SECONDS = 300


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


def npm(*arguments: str) -> str:
    program = shutil.which("npm")
    if program is None:
        pytest.fail("this test needs npm and Node.js (on Debian: nodejs, npm)")
    done = subprocess.run(
        [program, *arguments], cwd=PROJECT, capture_output=True, text=True, timeout=MAX_SECONDS, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def compiled() -> Path:
    """The example, compiled against the types that the contract gives."""
    npm("ci", "--no-audit", "--no-fund", "--prefer-offline")
    npm("run", "build")
    return PROJECT / "build" / "js" / "example.js"


def test_the_generated_types_compile_strictly(compiled: Path) -> None:
    types = (PROJECT / "build" / "contract.ts").read_text(encoding="utf-8")
    assert "addObservations: {" in types
    assert compiled.is_file()


def test_the_example_posts_a_warm_up_and_reads_advice(compiled: Path, service: str) -> None:
    said = npm("run", "--silent", "example", "--", service)
    assert "because " in said
    assert "7 of 8" in said or "rated 1" in said
