"""A coach takes one match from the warm-up to the debrief, on a phone and with one thumb."""

import base64

import requests
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.support.select import Select

from .chromium import complaints
from .page import MatchPage, standing

EVENT = {"surface": "clay", "coaching": "permitted", "device": "coach"}
MIDDLE_BALL, HIGH_BACKHAND, HAND = (
    "warmup.middle_ball_on_forehand", "warmup.high_backhand", "opponent.handedness",
)  # fmt: skip


def test_a_match_from_warm_up_to_debrief(page: MatchPage, browser: Chrome, service_url: str) -> None:
    match = page.begin("Heron", "K7", **EVENT, first_server="own", own_topspin_height="4")
    print_the_card(page)
    enter_a_warm_up(page)
    read_advice_and_choose(page)
    play_ten_points(page)
    keep_the_plan(page)
    read_the_debrief(page)
    page.all_kept()
    assert [point["winner"] for point in standing(service_url, match, "points")].count("own") == 6
    tries = standing(service_url, match, "tries")
    assert (sum(one["tried"] for one in tries), sum(one["won"] for one in tries)) == (2, 2)
    feedback = requests.get(f"{service_url}/v1/matches/{match}/feedback", timeout=30).json()["items"]
    assert [line["kind"] for line in feedback] == ["used"]
    assert complaints(browser) == []


def print_the_card(page: MatchPage) -> None:
    page.go("Advice")
    page.reads("Moment: Before the match")
    page.press("Card to print")
    page.wait(lambda: "/card" in page.browser.current_url)
    assert base64.b64decode(page.browser.print_page()).startswith(b"%PDF")
    page.browser.back()
    page.wait(lambda: page.heading == "Advice")
    page.go("Watch")


def enter_a_warm_up(page: MatchPage) -> None:
    Select(page.browser.find_element(By.ID, "minutes")).select_by_value("4")
    page.press("Start the clock")
    page.reads(" left")
    page.answer(HAND, "right")
    page.answer(HIGH_BACKHAND, "1 a little")
    page.answer(MIDDLE_BALL, *["Forehand"] * 7, "Backhand", "Backhand")
    page.tallies(MIDDLE_BALL, "7 of 9 chances.")
    page.press("Undo")
    page.tallies(MIDDLE_BALL, "7 of 8 chances.")
    page.all_kept()


def read_advice_and_choose(page: MatchPage) -> None:
    page.go("Advice")
    page.reads("Moment: Warm-up", "rated 1 of 4", "Not if:", "Look again ", "it pays against", "Source:")
    page.wait(lambda: 1 <= suggestions(page) <= 3)
    page.press("Play this")
    page.reads("This is the plan.")


def play_ten_points(page: MatchPage) -> None:
    page.go("Score")
    for words in ("Point won", "Lost: own error", "Lost: they earned it"):
        page.press("By the plan")
        page.press(words)
    page.press("Undo")
    page.press("By the plan")
    for words in ("Point won", "Point won", "Point won"):
        page.press(words)
    # an own error is no try, and the third is taken back
    page.reads("Change of ends", "Keep the plan.", "Why: ", "Stop: ")
    page.press("Back to the score")
    page.reads("Games 1-0", "won 2 of 2", "serves, deuce court")
    for words in ("Lost: they earned it", "Point won", "Lost: own error", "Point won", "Lost: they earned it"):
        page.press(words)
    page.reads("Games 1-0, points 30-40; K7 serves.")


def keep_the_plan(page: MatchPage) -> None:
    page.press("Lost: own error")
    page.reads("Games 1-1")
    page.press("Point won")
    page.press("Undo")
    page.reads("Games 1-1, points 0-0")
    page.go("Advice")
    page.reads("Keep the plan.")
    page.wait(lambda: suggestions(page) == 1)
    page.reads("This is the plan.", "tried 2 times, 2 won")


def read_the_debrief(page: MatchPage) -> None:
    page.go("Debrief")
    page.end()
    page.reads("Begin with next time", "tried 2, won 2", "Open the whole debrief")


def suggestions(page: MatchPage) -> int:
    return len(page.browser.find_elements(By.CLASS_NAME, "suggestion"))
