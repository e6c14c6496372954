"""Entries outlast a lost connection, a page loaded again, and a lost answer: each is kept once, in its order."""

import socket
from urllib.parse import urlsplit

import requests

from .access import check
from .chromium import requested, set_online
from .page import MatchPage, post, standing

MIDDLE_BALL, FOOTING = "warmup.middle_ball_on_forehand", "movement.footing"
_FULL = "Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }"
SILENT_S = 20  # a service that read from a silent connection would wait longer


def test_the_beginning_of_a_match_needs_the_connection(page, browser):
    set_online(browser, False)
    for field in ("own-label", "opponent-label"):
        browser.find_element("id", field).send_keys("Wren")
    page.press("Start with the warm-up")
    page.reads("The service cannot be reached.")
    check(browser, "form with a problem")


def test_a_device_that_is_full_loses_no_entry_while_the_page_is_open(page, browser, service_url):
    match = page.begin("Heron", "Full")
    page.all_kept()
    page.everything_else()
    browser.execute_script(_FULL)
    set_online(browser, False)
    page.answer(MIDDLE_BALL, "Forehand", "Backhand")
    page.tallies(MIDDLE_BALL, "1 of 2 chances.")
    page.press("2 waiting")
    page.reads("This device has no storage left for the page")
    check(browser, "entries that wait")
    set_online(browser, True)
    page.all_kept()
    assert [seen["count"] for seen in standing(service_url, match, "observations")] == [1, 0]


def test_what_is_new_alone_is_asked_for(page, browser, service_url):
    match = page.begin("Heron", "Polled")
    page.everything_else()
    page.answer(MIDDLE_BALL, "Forehand")
    page.all_kept()
    requested(browser)
    address = f"{service_url}/v1/matches/{match}/observations"
    entry = [post(address, {"what": MIDDLE_BALL, "count": count, "of": 1}) for count in (1, 0)][-1]
    page.tallies(MIDDLE_BALL, "2 of 3 chances.")
    post(address, {"withdraws": entry})
    page.tallies(MIDDLE_BALL, "2 of 2 chances.")
    assert [each for each in requested(browser) if each.startswith(address)][-1].endswith("&cursor=3")


def test_a_page_that_is_loaded_again_without_any_line_goes_on(browser, line, service_url):
    page = MatchPage(browser, line.url).open()
    match = page.begin("Heron", "Cut off")
    page.wait(lambda: browser.execute_async_script("navigator.serviceWorker.ready.then(arguments[0])"))
    line.cut = True
    page.answer(MIDDLE_BALL, "Forehand", "Forehand", "Backhand")
    page.tallies(MIDDLE_BALL, "2 of 3 chances.")
    page.go("Score")
    page.press("Point won")
    page.reads("points 15-0", "4 waiting, no connection")
    browser.refresh()
    page.reads("points 15-0", "4 waiting, no connection")
    page.press("Lost: own error")
    page.press("Undo")
    page.reads("points 15-0")
    line.cut = False
    browser.execute_script("window.dispatchEvent(new Event('online'))")
    page.all_kept()
    page.reads("points 15-0")
    assert [seen["count"] for seen in standing(service_url, match, "observations")] == [1, 1, 0]
    assert standing(service_url, match, "points") == [{"winner": "own"}]


def test_an_entry_whose_answer_was_lost_is_kept_once(browser, line, service_url):
    page = MatchPage(browser, line.url).open()
    match = page.begin("Heron", "Lost answer")
    line.loses_answers_to = "POST /v1/matches/"
    page.answer(MIDDLE_BALL, "Forehand")
    page.wait(lambda: line.lost >= 1)
    page.answer(MIDDLE_BALL, "Backhand")
    page.press("Undo")
    line.loses_answers_to = None
    page.all_kept()
    kept = requests.get(f"{service_url}/v1/matches/{match}/observations", timeout=30).json()["items"]
    assert [entry["observation"]["count"] for entry in kept] == [1]


def test_a_refused_entry_is_set_aside_with_the_reason_and_holds_up_nothing(page, browser, service_url):
    match = page.begin("Heron", "Refused")
    page.go("Score")
    requests.post(f"{service_url}/v1/matches/{match}/end", headers={"If-Match": '"1"'}, timeout=30)
    page.press("Point won")
    page.press("1 refused")
    page.reads("a match that has not ended")
    check(browser, "refused entry")
    browser.get(browser.current_url.replace("/score", "/more"))
    browser.find_element("id", "words").send_keys("slip")
    page.answer(FOOTING, "Yes")
    page.wait(lambda: standing(service_url, match, "observations"))
    page.press("1 refused")
    page.press("Remove")
    page.all_kept()
    assert standing(service_url, match, "points") == []


def test_silent_connections_that_a_browser_holds_open_keep_nobody_waiting(service_url):
    address = (urlsplit(service_url).hostname, urlsplit(service_url).port)
    # more than there are workers; they wait in line before the request, since a service takes the oldest first
    silent = [socket.create_connection(address) for _ in range(4)]
    try:
        assert requests.get(f"{service_url}/livez", timeout=SILENT_S).status_code == 200
    finally:
        for connection in silent:
            connection.close()
