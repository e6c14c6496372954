"""The end of a match: asked once more, taken back, cancelled by an entry, and sent although the page was closed."""

import re

import requests

from .access import check
from .chromium import complaints
from .page import MatchPage

_LATER = "localStorage.setItem(`tacticapi/finish/${arguments[0]}`, JSON.stringify(Date.now() + 3_600_000))"
_LONG_AGO = "localStorage.setItem(`tacticapi/finish/${arguments[0]}`, JSON.stringify(Date.now() - 60_000))"


def status(url: str, match: str) -> str:
    return str(requests.get(f"{url}/v1/matches/{match}", timeout=30).json()["status"])


def test_the_end_asks_and_can_be_taken_back(page, browser, service_url):
    match = page.begin("Wren", "Asker")
    page.go("Debrief")
    page.press("End the match", "main")
    page.reads("Is the match over?")
    check(browser, "asked whether it is over")
    page.press("No, it goes on")
    page.press("End the match", "main")
    page.press("Yes, it is over")
    page.reads("The match has ended.")
    browser.execute_script(_LATER, match)  # there is time to look at it
    check(browser, "ended, to be taken back")
    page.press("Take it back")
    page.wait(lambda: page.shown("main button") == "End the match")
    assert status(service_url, match) == "open"
    page.end()
    page.reads("Start with this next time")
    check(browser, "debrief")
    page.wait(lambda: page.shown("#announce") == "The match has ended.")  # it can no longer be taken back
    assert status(service_url, match) == "ended"
    assert complaints(browser) == []


def test_a_match_in_which_something_is_entered_goes_on(page, browser, service_url):
    match = page.begin("Wren", "Hasty", first_server="own")
    page.go("Debrief")
    page.press("End the match", "main")
    page.press("Yes, it is over")
    browser.execute_script(_LATER, match)
    page.go("Score")
    page.press("Point won")
    page.go("Debrief")
    page.wait(lambda: page.shown("main button") == "End the match")
    assert status(service_url, match) == "open"
    page.open()  # two matches of one day are told apart by their time
    page.wait(lambda: re.search(r"Wren and Hasty, \d{4}-\d\d-\d\d, \d\d:\d\d", page.text))


def test_advice_that_is_still_asked_for_when_the_match_ends_is_no_complaint(browser, line):
    page = MatchPage(browser, line.url).open()
    match = page.begin("Wren", "Slow", first_server="own")
    page.all_kept()
    line.holds = f"GET /v1/matches/{match}/suggestions"
    page.go("Advice")
    page.wait(lambda: line.held)
    page.go("Debrief")
    page.end()
    page.reads("Start with this next time")
    line.holds = None
    browser.refresh()
    page.reads("Start with this next time")
    assert complaints(browser) == []


def test_an_end_is_sent_although_the_page_was_closed(page, browser, service_url):
    match = page.begin("Wren", "Gone")
    browser.execute_script(_LONG_AGO, match)
    browser.get("about:blank")
    page.open()
    page.wait(lambda: status(service_url, match) == "ended")
