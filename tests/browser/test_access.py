"""Nobody is kept out: axe-core finds no violation in any state, on three sizes of screen, light and dark.

Contrast is at least 7.

axe-core comes from npm, pinned beside this file: npm ci --prefix tests/browser
"""

from pathlib import Path
from typing import Any

import pytest
import requests
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

from .chromium import DESKTOP, PHONE, TABLET, set_online, set_scheme, set_screen
from .page import MatchPage

AXE = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"
THUMB_PX = 48
_RUN = """
const done = arguments[arguments.length - 1];
const how = {resultTypes: ['violations'], rules: {'color-contrast-enhanced': {enabled: true}}};
axe.run(document, how).then((found) => done(found.violations.map(
  (each) => `${each.id}: ${each.help}: ${each.nodes.map((node) => node.html.slice(0, 160)).slice(0, 3).join(' | ')}`)),
  (error) => done([String(error)]));
"""
_TOO_SMALL = """
const [least] = arguments;
return [...document.querySelectorAll('button, select, summary, nav a, a.block, .check, input:not([type=checkbox])')]
  .filter((each) => each.checkVisibility())
  .filter((each) => Math.min(each.getBoundingClientRect().height, each.getBoundingClientRect().width) < least - 0.5)
  .map((each) => each.outerHTML.slice(0, 120));
"""
_TOO_WIDE = "return document.documentElement.scrollWidth - document.documentElement.clientWidth"


def check(browser: Chrome, state: str) -> None:
    """No violation in this state in any size and scheme; no target below a thumb's size; nothing beyond the side."""
    if not browser.execute_script("return typeof axe === 'object'"):
        if not AXE.is_file():
            pytest.fail("axe-core is not installed: npm ci --prefix tests/browser")
        browser.execute_script(AXE.read_text())
    found: dict[str, Any] = {}
    for size in (PHONE, TABLET, DESKTOP):
        set_screen(browser, *size)
        for scheme in ("light", "dark"):
            set_scheme(browser, scheme)
            found[f"{state}, {size}, {scheme}"] = browser.execute_async_script(_RUN)
        found[f"{state}, {size}, too small"] = browser.execute_script(_TOO_SMALL, THUMB_PX)
        assert browser.execute_script(_TOO_WIDE) <= 0, f"{state} goes beyond the side of {size}"
    set_screen(browser, *PHONE)
    set_scheme(browser, "light")
    assert {where: what for where, what in found.items() if what} == {}


def test_beginning_a_match(page: MatchPage, browser: Chrome) -> None:
    page.press("What your player can do")
    check(browser, "form")
    set_online(browser, False)
    browser.find_element(By.ID, "own-label").send_keys("Wren")
    browser.find_element(By.ID, "opponent-label").send_keys("Nobody")
    page.press("Begin with the warm-up")
    page.reads("The service cannot be reached.")
    check(browser, "form with a problem")


def test_watching_and_waiting_for_the_connection(page: MatchPage, browser: Chrome) -> None:
    page.begin("Wren", "Watched")
    page.press("Start the clock")
    for stage in ("Hand", "Net", "Serve", "Ground"):
        page.press(stage, ".stages")
        check(browser, f"pad: {stage}")
    page.everything_else()
    page.press("How to see it")
    page.answer("opponent.handedness", "left")
    check(browser, "every question")
    set_online(browser, False)
    page.answer("warmup.middle_ball_on_forehand", "Forehand", "Backhand")
    page.reads("2 waiting, no connection")
    page.press("2 waiting")
    check(browser, "every question without connection")


def test_advice_and_score(page: MatchPage, browser: Chrome, service_url: str) -> None:
    match = page.begin("Wren", "Advised", surface="clay", own_topspin_height="4")
    page.answer("warmup.high_backhand", "1 a little")
    page.go("Advice")
    page.press("Play this")
    page.reads("This is the plan.")
    check(browser, "advice")
    page.go("Score")
    page.press("Point won")
    page.reads("points 15-0")
    check(browser, "score")
    page.press("Correct the score by hand", "main")
    page.wait(lambda: page.heading == "Correct the score by hand")
    check(browser, "score by hand")
    games = browser.find_element(By.ID, "set-games")
    games.clear()
    games.send_keys("3-2")
    page.press("Take this score")
    page.reads("Games 3-2, points 15-0")
    requests.post(f"{service_url}/v1/matches/{match}/end", timeout=30)
    page.press("Point won")
    page.reads("1 refused")
    check(browser, "refused entry")


def test_the_plan_at_a_break_and_a_match_that_is_handed_over(page: MatchPage, browser: Chrome) -> None:
    page.begin("Wren", "Broken", coaching="permitted", device="coach", own_topspin_height="4")
    page.go("Score")
    page.reads("Who serves first?")
    check(browser, "who serves first")
    page.press("Wren", ".asks")
    page.press("Lost: they earned it", ".points")
    check(browser, "how a point ended")
    for _ in range(3):
        page.press("Lost: they earned it", ".points")
    page.reads("Change of ends", "Show the player")
    check(browser, "break")
    page.press("Show the player")
    check(browser, "shown to the player")
    page.press("Close")
    page.press("All kept")
    check(browser, "state of the entries")
    page.press("Hand over to another phone")
    page.wait(lambda: page.heading == "Hand over")
    check(browser, "hand over")


def test_advice_that_is_withheld_safety_of_an_answer_and_the_debrief(page: MatchPage, browser: Chrome) -> None:
    page.begin("Wren", "Withheld", coaching="not-permitted", device="nobody")
    page.answer("warmup.high_backhand", "1 a little")
    page.go("Advice")
    page.reads("Only safety is shown", "The card for the bag can be printed before")
    assert not browser.find_elements(By.CLASS_NAME, "suggestion")
    check(browser, "withheld advice")
    page.go("Watch")
    page.press("Danger")
    page.answer("context.thunder", "Yes")
    page.reads("Safety first", "Source:", "What was entered")
    check(browser, "safety of an answer")
    page.press("Over, or a mistake")
    page.press("Yes, take it back")
    page.wait(lambda: page.heading == "Warm-up")
    page.go("Debrief")
    check(browser, "end of the match")
    page.end()
    page.reads("Begin with next time")
    check(browser, "debrief")


def test_a_danger_sign_and_the_score_alone(page: MatchPage, browser: Chrome) -> None:
    page.begin("Wren", "Dizzy")
    page.press("Danger")
    page.answer("physical.warning_sign", "Yes")
    page.reads("Safety first", "Which sign?", "Source:")
    check(browser, "safety first")
    page.press("Cleared by a qualified person")
    page.press("Entered by mistake")
    page.reads("Not yet", "No, it stays")
    check(browser, "safety first, asked once more")
    page.press("Keep the score only")
    page.reads("Score only")
    check(browser, "score only")
    page.go("Debrief")
    page.reads("Safety first", "End the match")
    check(browser, "safety before the end")
