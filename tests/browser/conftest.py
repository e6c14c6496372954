"""A real service and a real browser, one of each for the whole run; every test gets the browser as new.

Chromium and its driver must be installed (on Debian: chromium, chromium-driver). Without them these tests fail.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium.webdriver import Chrome

from ..served.running import running
from .chromium import forget_all, requested, started
from .line import Line
from .page import MatchPage

OF_THE_BROWSER = ("about:", "data:", "chrome:")  # addresses that lead to no network


@pytest.fixture(scope="session")
def service_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the service keeps its database, kept.db, and its log."""
    return tmp_path_factory.mktemp("service")


@pytest.fixture(scope="session")
def service_url(service_folder: Path) -> Iterator[str]:
    """The address of `tacticapi serve` on this machine, with an empty SQLite file and two workers."""
    with running(service_folder, TACTICAPI_WORKERS="2") as service:
        yield service.address


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
