"""A danger comes before everything on every screen of the match page, from the tap on and until it is lifted."""

from collections.abc import Callable
from typing import Any

import pytest
import requests
from selenium.webdriver.common.by import By

from .access import check
from .chromium import DESKTOP, set_online, set_screen
from .page import MatchPage, post, standing

EVENT = {"surface": "clay", "coaching": "permitted", "device": "coach"}
SIGN, CLEARED, HIGH_BACKHAND = "physical.warning_sign", "physical.cleared", "warmup.high_backhand"
SCREENS = ("Advice", "Score", "Debrief", "Watch")
SAFETY = "Safety first"
UNTIL_CLEARED = "No tactics until a qualified person has cleared the player."
NEVER_AGAIN = "No more tactics in this match."
_PLAN = "return document.querySelector('.suggestion:has([aria-pressed=true]) > h2')?.innerText"


def choose_a_plan(page: MatchPage, opponent: str) -> str:
    """Begin a match and choose a plan. What the plan says."""
    page.begin("Heron", opponent, **EVENT, own_topspin_height="4")
    page.answer(HIGH_BACKHAND, "1 a little")
    page.go("Advice")
    page.press("Play this")
    page.reads("This is the plan.")
    plan = str(page.wait(lambda: page.browser.execute_script(_PLAN)))
    page.go("Score")
    page.reads(plan)
    page.go("Watch")
    return plan


def see_a_sign(page: MatchPage, which: str) -> None:
    """Answer the question on danger signs, and see safety at once."""
    page.danger_signs()
    page.answer(SIGN, which)
    safety_is_shown(page)


def safety_is_shown(page: MatchPage) -> None:
    page.wait(lambda: page.heading == SAFETY)


def nothing_to_play_by(page: MatchPage, plan: str) -> None:
    """Every screen shows the safety line first, and neither a tactic nor the plan nor a picture."""
    for screen in SCREENS:
        if page.shown("nav [aria-current]") != screen:
            page.go(screen)
        assert page.heading == SAFETY, screen
        assert page.shown("main h1") == SAFETY
        assert plan not in page.text, screen
        assert "the plan" not in page.text, screen
        assert page.browser.find_elements(By.CSS_SELECTOR, "main :is(.suggestion, .question, svg, img)") == [], screen


def set_context(url: str, match: str, **facts: Any) -> None:
    """Set facts of the match from another phone."""
    kept = requests.get(f"{url}/v1/matches/{match}", timeout=60)
    body = {"context": {**kept.json()["context"], **facts}}
    headers = {"If-Match": kept.headers["ETag"]}
    assert requests.patch(f"{url}/v1/matches/{match}", json=body, headers=headers, timeout=60).status_code == 200


def test_from_the_tap_on_no_screen_shows_the_chosen_plan(page, browser, service_url):
    plan = choose_a_plan(page, "Tapped")
    see_a_sign(page, "Yes")
    page.reads(UNTIL_CLEARED)
    nothing_to_play_by(page, plan)
    page.all_kept()
    page.reads("Source:")  # the service has answered
    nothing_to_play_by(page, plan)
    check(browser, "safety first")
    assert standing(service_url, page.match_id, "observations")[-1]["seen"] is True
    page.press("head knock")  # named later, it counts as what it is
    page.reads(NEVER_AGAIN)
    nothing_to_play_by(page, plan)


def test_the_score_can_be_kept_without_the_plan(page, browser, service_url):
    plan = choose_a_plan(page, "Retired")
    see_a_sign(page, "Yes")
    page.press("Keep the score only")
    page.reads("Score only")
    page.press("Point won")
    page.reads("points 15-0")
    assert page.heading == SAFETY
    assert plan not in page.text
    assert "the plan" not in page.text
    check(browser, "score only")
    page.press("End the match")
    page.wait(lambda: page.shown("nav [aria-current]") == "Debrief")
    check(browser, "safety before the end")
    page.end()
    page.reads("Open the full debrief")
    assert standing(service_url, page.match_id, "points") == [{"winner": "own"}]
    assert sum(one["tried"] for one in standing(service_url, page.match_id, "tries")) == 0


def test_without_a_connection_it_holds_and_outlasts_a_page_that_is_loaded_again(browser, line, service_url):
    page = MatchPage(browser, line.url).open()
    plan = choose_a_plan(page, "Flat battery")
    page.wait(lambda: browser.execute_async_script("navigator.serviceWorker.ready.then(arguments[0])"))
    page.all_kept()
    line.cut = True
    see_a_sign(page, "dizziness")
    page.reads(UNTIL_CLEARED, "1 waiting, no connection")
    nothing_to_play_by(page, plan)
    browser.refresh()
    safety_is_shown(page)
    page.reads(UNTIL_CLEARED)
    nothing_to_play_by(page, plan)
    line.cut = False
    browser.execute_script("window.dispatchEvent(new Event('online'))")
    page.all_kept()
    nothing_to_play_by(page, plan)
    assert [seen["value"] for seen in standing(service_url, page.match_id, "observations") if seen["what"] == SIGN] == [
        "dizziness"
    ]


def test_a_fact_that_may_stop_the_match_stops_it_until_the_service_has_answered(page, browser):
    plan = choose_a_plan(page, "Thunder")
    page.all_kept()
    set_online(browser, False)
    page.danger_signs()
    page.answer("context.thunder", "Yes")
    safety_is_shown(page)
    page.reads("No tactics until the service has answered.", "Thunder or lightning: yes", "Over, or a mistake")
    assert "Cleared by" not in page.text  # nobody clears thunder
    nothing_to_play_by(page, plan)
    set_online(browser, True)
    page.reads("No tactics while this lasts.", "Source:")
    check(browser, "safety of an answer")
    nothing_to_play_by(page, plan)
    page.press("Over, or a mistake")
    page.press("Yes, take it back")
    page.wait(lambda: page.heading == "Warm-up")


def test_a_sign_of_another_phone_is_shown_on_every_screen_without_a_touch_and_ends_with_it(page, service_url):
    plan = choose_a_plan(page, "Other")
    page.all_kept()
    observations = f"{service_url}/v1/matches/{page.match_id}/observations"
    for screen in SCREENS:
        if screen != page.shown("nav [aria-current]"):
            page.go(screen)
        entry = post(observations, {"what": SIGN, "seen": True})
        safety_is_shown(page)
        post(observations, {"withdraws": entry})
        page.wait(lambda: page.heading != SAFETY)
    post(observations, {"what": SIGN, "seen": True})
    safety_is_shown(page)
    nothing_to_play_by(page, plan)


def test_a_sign_of_another_phone_closes_what_the_player_is_shown(page, service_url):
    plan = choose_a_plan(page, "Shown")
    page.go("Score")
    for _ in range(4):
        page.press("Point won", ".points")
    page.press("Show the player")
    page.wait(lambda: page.shown("dialog p"))
    post(f"{service_url}/v1/matches/{page.match_id}/observations", {"what": SIGN, "seen": True})
    safety_is_shown(page)
    assert page.browser.find_elements(By.TAG_NAME, "dialog") == []
    nothing_to_play_by(page, plan)


def test_lightning_entered_on_another_phone_ends_when_the_service_says_so(page, service_url):
    plan = choose_a_plan(page, "Lightning")
    page.all_kept()
    set_context(service_url, page.match_id, thunder=True)
    page.go("Advice")
    safety_is_shown(page)
    nothing_to_play_by(page, plan)
    set_context(service_url, page.match_id, thunder=False)
    page.wait(lambda: page.heading == "Warm-up")


def test_a_qualified_person_clears_the_player_with_two_taps(page, browser, service_url):
    plan = choose_a_plan(page, "Cleared")
    see_a_sign(page, "dizziness")
    page.press("Cleared by a qualified person")
    page.reads("examined the player")
    check(browser, "asked once more")
    page.press("Not yet")
    page.reads(UNTIL_CLEARED)
    assert page.heading == SAFETY
    page.press("Cleared by a qualified person")
    page.press("Yes, cleared to play on")
    page.wait(lambda: page.heading == "Warm-up")
    page.go("Score")
    page.reads(plan)
    page.go("Advice")
    page.reads("This is the plan.")
    assert {"what": CLEARED, "seen": True}.items() <= standing(service_url, page.match_id, "observations")[-1].items()
    page.go("Watch")
    see_a_sign(page, "dizziness")  # one that comes after the clearance is not lifted by it
    page.all_kept()
    nothing_to_play_by(page, plan)


@pytest.mark.parametrize("sign", ["chest pain", "seizure"])  # tests/unit/web holds which signs are marked so
def test_what_ends_the_match_for_a_player_is_never_cleared_in_it(page, browser, service_url, sign):
    plan = choose_a_plan(page, f"Ended by {sign}")
    see_a_sign(page, sign)
    page.reads(NEVER_AGAIN)
    page.all_kept()
    assert "Cleared by" not in page.text
    post(f"{service_url}/v1/matches/{page.match_id}/observations", {"what": CLEARED, "seen": True})
    browser.refresh()
    safety_is_shown(page)
    page.reads("Source:")  # the service has been asked since
    nothing_to_play_by(page, plan)
    page.reads(NEVER_AGAIN)
    page.go("Debrief")
    page.end()
    page.reads("Open the full debrief")


def test_a_mistaken_tap_is_taken_back_with_two_taps_and_the_history_keeps_both(page, browser, service_url):
    plan = choose_a_plan(page, "Mistaken")
    see_a_sign(page, "head knock")
    page.press("Entered by mistake")
    page.press("No, it stays")
    assert page.heading == SAFETY
    page.press("Entered by mistake")
    page.press("Yes, take it back")
    page.wait(lambda: page.heading == "Warm-up")
    page.all_kept()
    items = requests.get(f"{service_url}/v1/matches/{page.match_id}/observations", timeout=60).json()["items"]
    sign = next(item for item in items if item.get("observation", {}).get("what") == SIGN)
    assert items[-1]["supersedes"] == sign["id"]
    assert items[-1].get("observation") is None
    browser.refresh()
    page.wait(lambda: page.heading == "Warm-up")
    page.go("Score")
    page.reads(plan)


def test_a_refused_sign_still_stops_play(browser, line):
    page = MatchPage(browser, line.url).open()
    plan = choose_a_plan(page, "Refused sign")
    page.all_kept()
    line.refuses = "POST /v1/matches/"
    see_a_sign(page, "dizziness")
    page.reads("1 refused")
    nothing_to_play_by(page, plan)
    assert "Remove" not in page.text
    page.press("Entered by mistake")
    page.press("Yes, take it back")
    page.all_kept()
    page.wait(lambda: page.heading == "Warm-up")


def rated(page: MatchPage) -> Callable[[str], bool]:
    """Whether the advice that is shown rests on this rating of high balls to the backhand."""
    return lambda rating: f"rated {rating} of 4" in page.shown(".advice")


def test_a_new_entry_renews_the_advice_beside_it(page, browser):
    set_screen(browser, *DESKTOP)
    page.begin("Heron", "Beside", **EVENT, own_topspin_height="4")
    for rating, words in (("1", "1 a little"), ("0", "0 not at all")):
        page.answer(HIGH_BACKHAND, words)
        page.wait(lambda rating=rating: rated(page)(rating))


def test_an_entry_of_another_phone_renews_the_advice_that_is_shown_although_an_answer_was_lost(
    browser, line, service_url
):
    page = MatchPage(browser, line.url).open()
    choose_a_plan(page, "Both phones")
    page.go("Advice")
    page.wait(lambda: rated(page)("1"))
    page.all_kept()
    line.loses_answers_to = f"GET /v1/matches/{page.match_id}/suggestions"
    post(f"{service_url}/v1/matches/{page.match_id}/observations", {"what": HIGH_BACKHAND, "rating": 0})
    page.wait(lambda: line.lost)
    line.loses_answers_to = None
    page.wait(lambda: rated(page)("0"))


def test_without_a_connection_old_advice_says_when_it_was_given(page, browser):
    choose_a_plan(page, "Old advice")
    page.go("Advice")
    page.wait(lambda: rated(page)("1"))
    page.go("Watch")
    set_online(browser, False)
    page.answer(HIGH_BACKHAND, "0 not at all")
    page.go("Advice")
    page.reads("Older than your last entry: given at ", "Moment: Warm-up. Given at ")
    set_online(browser, True)
    page.wait(lambda: "Older than your last entry" not in page.text)
    page.wait(lambda: rated(page)("0"))
