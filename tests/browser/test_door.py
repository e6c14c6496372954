"""The front door: the ways in, the demo match, past matches, and the pages without a connection."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
import requests
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

from .access import check
from .chromium import PHONE, complaints, requested, set_online, set_scheme, set_screen
from .conftest import OF_THE_BROWSER
from .page import MatchPage
from .test_pad import SCROLLS

_STORED = "return Object.keys(localStorage).length + Object.keys(sessionStorage).length"
_INSTALLED = """
const done = arguments[arguments.length - 1];
navigator.serviceWorker.ready.then(() => caches.open('pages')).then((kept) => kept.keys())
  .then((keys) => done(keys.length));
"""


@pytest.fixture
def door(browser: Chrome, service_url: str) -> Iterator[MatchPage]:
    """The front door. In the end it must have asked nobody but the service, and complained of nothing."""
    page = MatchPage(browser, service_url)
    browser.get(service_url)
    page.wait(lambda: page.heading)
    yield page
    assert [address for address in requested(browser) if not address.startswith((service_url, *OF_THE_BROWSER))] == []


def matches_kept(folder: Path) -> int:
    with closing(sqlite3.connect(folder / "kept.db")) as kept:
        return int(kept.execute("SELECT count(*) FROM matches").fetchone()[0])


def test_the_door_and_the_guides_keep_nobody_out(door, browser):
    check(browser, "front door")
    for name in ("For the coach", "For the club secretary"):
        door.press(name)
        door.wait(lambda name=name: door.heading.startswith(name))
        check(browser, name)
        door.press("Start page")
        door.reads("Try a demo match")


def test_the_demo_plays_in_the_screens_of_a_match_and_is_stored_nowhere(door, browser, service_folder):
    before = matches_kept(service_folder)
    set_scheme(browser, "light", motion="reduce")  # it waits at its beginning
    door.press("Try a demo match")
    door.reads("Larch and Sleet", "whom nobody here has seen before")
    check(browser, "demo")
    film = int(door.shown("#demo .tally").split()[-1])
    screens = set()
    set_screen(browser, *PHONE)
    for number in range(2, film + 1):
        door.press("Next", "#demo")
        door.wait(lambda number=number: door.shown("#demo .tally") == f"Demo {number} of {film}")
        screens.add(browser.current_url.rpartition("/")[2])
        assert browser.execute_script(SCROLLS) == 0, number
    door.reads("None of it was stored", "Start with this next time", "Play it again")
    screens.add(browser.current_url.rpartition("/")[2])
    check(browser, "demo, debrief")
    assert {"advice", "score", "after"} <= screens
    assert matches_kept(service_folder) == before
    assert browser.execute_script(_STORED) == 0
    assert complaints(browser) == []


def test_the_demo_plays_by_itself_and_stops_for_who_looks_round(door, browser):
    door.press("Try a demo match")
    door.wait(lambda: int(f"0{door.shown('#demo .tally').removeprefix('Demo ').partition(' ')[0]}") >= 3)
    door.go("Score")
    door.reads("Go on")
    door.press("Point won")
    door.reads("nothing can be entered in it")
    assert browser.execute_script(_STORED) == 0


def test_a_match_that_runs_is_one_tap_away_and_one_that_ended_is_under_past_matches(door, browser, service_url):
    door.press("Start a match")
    door.wait(lambda: door.heading == "Matches")
    match = door.begin("Wren", "Knocker")
    browser.get(service_url)
    door.press("Continue: Wren and Knocker")
    door.wait(lambda: door.heading == "Warm-up")
    requests.post(f"{service_url}/v1/matches/{match}/end", timeout=30)
    browser.get(service_url)
    door.press("Past matches")
    door.reads("Wren and Knocker")
    check(browser, "past matches")
    door.press("Wren and Knocker")
    door.reads("Start with this next time")


def test_the_pages_can_be_put_on_a_home_screen_and_open_without_a_connection(door, browser, service_url):
    door.wait(lambda: browser.execute_async_script(_INSTALLED) > 20)
    assert browser.execute_cdp_cmd("Page.getInstallabilityErrors", {})["installabilityErrors"] == []
    set_online(browser, False)
    browser.get(service_url)
    door.press("Start a match")
    door.reads("The service cannot be reached.")
    browser.get(f"{service_url}/guide/coach")
    door.wait(lambda: door.heading.startswith("For the coach"))
    assert browser.find_elements(By.CSS_SELECTOR, "link[rel=manifest]")
