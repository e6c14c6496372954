"""Entries outlast a lost connection, a page loaded again, and a lost answer: each is kept once, in its order."""

import socket
from urllib.parse import urlsplit

import requests
from selenium.webdriver import Chrome

from .chromium import set_online
from .line import Line
from .page import MatchPage, standing

MIDDLE_BALL, FOOTING = "warmup.middle_ball_on_forehand", "movement.footing"
SILENT_S = 20  # a service that read from a silent connection would wait longer


def test_entries_wait_while_the_network_is_away_and_are_each_kept_once(
    page: MatchPage, browser: Chrome, service_url: str
) -> None:
    match = page.begin("Heron", "Offline")
    set_online(browser, False)
    page.answer(MIDDLE_BALL, "Forehand", "Forehand", "Backhand")
    page.reads("3 waiting, no connection")
    page.tallies(MIDDLE_BALL, "2 of 3 chances.")
    browser.refresh()
    page.reads("3 waiting, no connection")
    page.answer(MIDDLE_BALL, "Backhand")
    set_online(browser, True)
    page.all_kept()
    assert [seen["count"] for seen in standing(service_url, match, "observations")] == [1, 1, 0, 0]


def test_a_page_that_is_loaded_again_without_any_line_goes_on(browser: Chrome, line: Line, service_url: str) -> None:
    page = MatchPage(browser, line.url).open()
    match = page.begin("Heron", "Cut off")
    page.wait(lambda: browser.execute_async_script("navigator.serviceWorker.ready.then(arguments[0])"))
    line.cut = True
    page.answer(MIDDLE_BALL, "Forehand", "Backhand")
    page.go("Score")
    page.press("Point won")
    page.reads("points 15-0", "3 waiting, no connection")
    browser.refresh()
    page.reads("points 15-0", "3 waiting, no connection")
    page.press("Lost: own error")
    page.press("Undo")
    page.reads("points 15-0")
    line.cut = False
    browser.execute_script("window.dispatchEvent(new Event('online'))")
    page.all_kept()
    page.reads("points 15-0")
    assert [seen["count"] for seen in standing(service_url, match, "observations")] == [1, 0]
    assert standing(service_url, match, "points") == [{"winner": "own"}]


def test_an_entry_whose_answer_was_lost_is_kept_once(browser: Chrome, line: Line, service_url: str) -> None:
    page = MatchPage(browser, line.url).open()
    match = page.begin("Heron", "Lost answer")
    line.loses_answers_to = b"POST /v1/matches/"
    page.answer(MIDDLE_BALL, "Forehand")
    page.wait(lambda: line.lost >= 1)
    page.answer(MIDDLE_BALL, "Backhand")
    page.press("Undo")
    line.loses_answers_to = None
    page.all_kept()
    kept = requests.get(f"{service_url}/v1/matches/{match}/observations", timeout=30).json()["items"]
    assert [entry["observation"]["count"] for entry in kept] == [1]


def test_a_refused_entry_is_set_aside_with_the_reason_and_holds_up_nothing(
    page: MatchPage, browser: Chrome, service_url: str
) -> None:
    match = page.begin("Heron", "Refused")
    page.go("Score")
    requests.post(f"{service_url}/v1/matches/{match}/end", headers={"If-Match": '"1"'}, timeout=30)
    page.press("Point won")
    page.press("1 refused")
    page.reads("a match that has not ended")
    browser.get(browser.current_url.replace("/score", "/more"))
    browser.find_element("id", "words").send_keys("slip")
    page.answer(FOOTING, "Yes")
    page.wait(lambda: standing(service_url, match, "observations"))
    page.press("1 refused")
    page.press("Remove")
    page.all_kept()
    assert standing(service_url, match, "points") == []


def test_silent_connections_that_a_browser_holds_open_keep_nobody_waiting(service_url: str) -> None:
    address = (urlsplit(service_url).hostname, urlsplit(service_url).port)
    # more than there are workers; they wait in line before the request, since a service takes the oldest first
    silent = [socket.create_connection(address) for _ in range(4)]
    try:
        assert requests.get(f"{service_url}/livez", timeout=SILENT_S).status_code == 200
    finally:
        for connection in silent:
            connection.close()
