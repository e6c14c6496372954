"""A real service and a real browser, one of each for the whole run; every test gets the browser as new.

Chromium and its driver must be installed (on Debian: chromium, chromium-driver). Without them these tests fail.
"""

import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from selenium.webdriver import Chrome

from .chromium import forget_all, requested, started
from .line import Line
from .page import MatchPage

OF_THE_BROWSER = ("about:", "data:", "chrome:")  # addresses that lead to no network
STARTS_WITHIN_S = 120  # on a machine that does much else


@pytest.fixture(scope="session")
def service_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the service keeps its database, kept.db, and its log."""
    return tmp_path_factory.mktemp("service")


@pytest.fixture(scope="session")
def service_url(service_folder: Path) -> Iterator[str]:
    """The address of `tacticapi serve` on this machine, with an empty SQLite file and two workers."""
    log, port = service_folder / "log", free_port()
    with log.open("wb") as told:
        process = subprocess.Popen(
            [sys.executable, "-m", "tacticapi", "serve", "--port", str(port), "--workers", "2"],
            env={**os.environ, "TACTICAPI_DB": str(service_folder / "kept.db")},
            stdout=told,
            stderr=told,
        )
    url = f"http://127.0.0.1:{port}"
    try:
        if not answers_within(f"{url}/readyz", STARTS_WITHIN_S, process):
            pytest.fail(f"the service did not start:\n{log.read_text()}")
        yield url
    finally:
        process.terminate()
        process.wait(timeout=30)


@pytest.fixture(scope="session")
def _chromium(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chrome]:
    browser = started(tmp_path_factory.mktemp("browser"))
    try:
        yield browser
    finally:
        browser.quit()


@pytest.fixture
def browser(_chromium: Chrome, service_url: str) -> Chrome:
    """Chromium on a phone-sized light screen, online, with nothing stored, nothing logged, and a blank page."""
    forget_all(_chromium, service_url)
    return _chromium


@pytest.fixture
def page(browser: Chrome, service_url: str) -> Iterator[MatchPage]:
    """The match page as it is first opened. In the end it must have asked nobody but the service."""
    yield MatchPage(browser, service_url).open()
    outside = [address for address in requested(browser) if not address.startswith((service_url, *OF_THE_BROWSER))]
    assert outside == []


@pytest.fixture
def line(service_url: str) -> Iterator[Line]:
    """A line to the service that can be cut."""
    with Line(service_url) as line:
        yield line


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port: int = listener.getsockname()[1]
        return port


def answers_within(url: str, seconds: float, process: subprocess.Popen[bytes]) -> bool:
    """Whether the address answers before the time is over and before its process ends."""
    end = time.monotonic() + seconds
    while time.monotonic() < end and process.poll() is None:
        with suppress(OSError), urllib.request.urlopen(url, timeout=5):
            return True
        time.sleep(0.1)
    return False
