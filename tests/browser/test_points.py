"""A set on the point pad: it never moves, loses nothing, takes no tap twice, and becomes the plan at a break."""

import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By

from .access import check
from .chromium import PHONE, forget_all, set_online, set_screen
from .page import MatchPage, post, standing
from .test_pad import LANDSCAPE

EVENT = {"surface": "clay", "coaching": "permitted", "device": "coach"}
WON, EARNED, EASY = "Point won", "Lost: they earned it", "Lost: own error"
HIGH_BALLS = {"what": "rally.against_high_ball", "wing": "backhand"}
MEANS = {WON: "own", EARNED: "opponent", EASY: "opponent"}
_PLACES = """
return [...document.querySelectorAll('.points button, .rest .undo button, .chips')].map((each) => {
  const at = each.getBoundingClientRect();
  return [Math.round(at.x), Math.round(at.y), Math.round(at.width), Math.round(at.height)];
});
"""
_OUT_OF_REACH = """
return [...document.querySelectorAll('.pad button, .pad a, .pad input')]
  .filter((each) => each.checkVisibility() && !each.closest('[inert]'))
  .filter((each) => {
    const at = each.getBoundingClientRect();
    const hit = document.elementFromPoint(at.x + at.width / 2, at.y + at.height / 2);
    return hit !== each && !each.contains(hit);
  }).map((each) => each.outerHTML.slice(0, 90));
"""


_LABELS = """
const done = arguments[0];
Promise.all([...document.querySelectorAll('.break img, dialog img')].map(async (shown) => {
  const text = await (await fetch(shown.src)).text();
  const drawn = new DOMParser().parseFromString(text, 'image/svg+xml').documentElement;
  const { width, height } = drawn.viewBox.baseVal;
  const scale = Math.min(shown.clientWidth / width, shown.clientHeight / height);
  return [drawn, ...drawn.querySelectorAll('[font-size]')].map((each) => each.getAttribute('font-size') * scale);
})).then((sizes) => done(Math.min(...sizes.flat())));
"""
LEAST_PX = 11


def at_the_score(page: MatchPage, opponent: str, **choices: str) -> str:
    """Begin a match and go to its score. Its id."""
    match = page.begin("Heron", opponent, **{**EVENT, "first_server": "own", "own_topspin_height": "4", **choices})
    page.go("Score")
    return match


def play(page: MatchPage, *taps: str) -> None:
    """Enter points; a plan that comes meanwhile is put aside."""
    for words in taps:
        if page.browser.find_elements(By.CLASS_NAME, "break"):
            page.press("Back to the score")
        page.press(words, ".points")


def winners(url: str, match: str) -> list[str]:
    return [point["winner"] for point in standing(url, match, "points")]


def test_a_set_with_a_dropped_line_keeps_every_winner_and_moves_nothing(browser, line, service_url):
    page = MatchPage(browser, line.url).open()
    match = at_the_score(page, "Dropped")
    places = browser.execute_script(_PLACES)
    taps = [WON, EARNED, EASY, WON, WON, EARNED, WON, WON, EASY]
    for number, words in enumerate(taps):
        line.cut = number % 3 != 0
        play(page, words)
        assert browser.execute_script(_PLACES) == places, number
    page.reads("waiting, no connection")
    page.reads("Games 1-0, points 0-15; Dropped serves.")  # by the rules of the format, without a service
    browser.refresh()
    page.reads("Games 1-0, points 0-15; Dropped serves.")
    line.cut = False
    browser.execute_script("window.dispatchEvent(new Event('online'))")
    page.all_kept()
    assert winners(service_url, match) == [MEANS[words] for words in taps]
    page.reads("Games 1-0, points 0-15; Dropped serves.")


def test_a_double_tap_is_one_point(page, browser, service_url):
    match = at_the_score(page, "Twice tapped")
    button = page.wait(lambda: browser.find_element(By.CSS_SELECTOR, ".points button"))
    ActionChains(browser).double_click(button).perform()
    page.reads("points 15-0")
    page.press(WON, ".points")
    page.reads("points 30-0")
    page.all_kept()
    assert winners(service_url, match) == ["own", "own"]


def test_how_a_point_ended_is_one_more_tap_in_reach_and_goes_with_the_point(page, browser, service_url):
    match = at_the_score(page, "Ended", first_server="opponent")
    page.press(EARNED, ".points")
    page.press("2nd serve")
    page.press("Wide")
    page.press("Backhand winner")
    page.press("They were at the net")
    check(browser, "how a point ended")
    for size in (PHONE, (390, 844), LANDSCAPE):
        set_screen(browser, *size)
        page.wait(lambda: browser.execute_script(_OUT_OF_REACH) == [])
    set_screen(browser, *PHONE)
    page.all_kept()
    told = {
        (one["what"], one.get("count"), one.get("wing"), one.get("court"))
        for one in standing(service_url, match, "observations")
    }
    assert told == {
        ("serve.first_serves_in", 0, None, "deuce"),
        ("serve.second_serve_points_won", 1, None, "deuce"),
        ("serve.deuce_court_spots", None, None, None),
        ("rally.points_ended", 0, "backhand", None),
        ("serve.unreturned_serves", 0, None, "deuce"),
        ("net.points_at_net", 1, None, None),
    }
    page.press("They were at the net")  # a second tap takes it back
    page.all_kept()
    page.wait(lambda: len(standing(service_url, match, "observations")) == 5)
    page.press("Undo")
    page.all_kept()
    page.wait(lambda: standing(service_url, match, "observations") == [])
    assert winners(service_url, match) == []


def test_the_screen_becomes_the_plan_when_ends_change_and_renews_itself(page, browser, service_url):
    match = at_the_score(page, "Changed ends")
    post(f"{service_url}/v1/matches/{match}/observations", {**HIGH_BALLS, "count": 0, "of": 6})
    play(page, WON, WON, WON, WON)
    page.wait(lambda: page.shown(".break h2") == "Change of ends")
    page.wait(lambda: page.shown(".break .say"))
    page.reads("Why: ", "Look again")
    page.press("Play this")
    page.reads("Keep the plan.")
    said = page.shown(".break .say")
    assert len(browser.find_elements(By.CSS_SELECTOR, ".break .say")) == 1
    check(browser, "break")
    page.press("Show the player")
    page.wait(lambda: page.shown("dialog p") == said)
    size = float(
        browser.execute_script("return parseFloat(getComputedStyle(document.querySelector('dialog p')).fontSize)")
    )
    assert size >= 28
    check(browser, "shown to the player")
    for screen in (PHONE, LANDSCAPE):  # the labels of both pictures, at the break and for the player
        set_screen(browser, *screen)
        page.wait(lambda: browser.execute_async_script(_LABELS) >= LEAST_PX)
    page.press("Close")
    post(f"{service_url}/v1/matches/{match}/observations", {**HIGH_BALLS, "count": 1, "of": 4})  # on another phone
    page.wait(lambda: "1 of 10" in page.shown(".break .told"))
    page.press("Back to the score")
    page.press(WON, ".points")
    page.reads("Games 1-0, points 15-0")


def test_the_score_is_corrected_by_hand(page, browser):
    at_the_score(page, "By hand", first_server="")
    page.reads("Who serves first?")
    check(browser, "who serves first")
    page.press("Heron", ".asks")
    page.press("Correct the score by hand", "main")
    page.wait(lambda: page.heading == "Correct the score by hand")
    check(browser, "score by hand")
    games = browser.find_element(By.ID, "set-games")
    games.clear()
    games.send_keys("3-2")
    page.press("Use this score")
    page.reads("Games 3-2, points 0-0")


def test_the_deciding_point_shows_the_plan(page, browser):
    browser.find_element(By.ID, "no-ad").find_element(By.XPATH, "..").click()
    at_the_score(page, "Decided")
    play(page, WON, WON, WON, EARNED, EARNED, EARNED)
    page.wait(lambda: page.shown(".break h2") == "Deciding point")


def test_where_no_advice_is_permitted_the_break_invites_notes(page, browser):
    at_the_score(page, "Withheld", coaching="set-break")
    play(page, WON, WON, WON, WON)
    page.reads("The event does not permit advice now. Note what you see")
    assert not browser.find_elements(By.CSS_SELECTOR, ".break .say")
    page.go("Advice")
    page.reads("Only safety advice is shown", "The card for the bag can be printed before")
    check(browser, "withheld advice")
    page.go("Score")
    page.press("Note what you saw")
    page.wait(lambda: page.heading == "Watch")
    check(browser, "watch in games")


def test_the_last_permitted_advice_stays_without_a_line_and_says_when_it_was_given(page, browser):
    at_the_score(page, "Last advice")
    page.go("Advice")
    page.press("Play this")
    page.reads("This is the plan.")
    said = page.wait(lambda: page.shown(".suggestion:has([aria-pressed=true]) > h2"))
    page.go("Score")
    set_online(browser, False)
    play(page, WON, WON, WON, WON)
    page.wait(lambda: page.shown(".break h2") == "Change of ends")
    page.reads("Given at ", said)
    set_online(browser, True)
    page.wait(lambda: "Given at " not in page.shown(".break"))


@pytest.mark.parametrize("same", [True, False])
def test_a_point_that_two_phones_entered_is_noticed_and_asked(browser, line, service_url, same):
    page = MatchPage(browser, line.url).open()
    match = at_the_score(page, f"Two phones {same}")
    play(page, WON)
    page.all_kept()
    line.cut = True
    play(page, EARNED)
    page.reads("points 15-15", "1 waiting, no connection")
    post(f"{service_url}/v1/matches/{match}/points", {"winner": "opponent"})
    line.cut = False
    browser.execute_script("window.dispatchEvent(new Event('online'))")
    page.reads("1 point on this phone and 1 point on another were entered at the same time. Are they the same?")
    page.reads("points 15-30")
    page.press("Same: count once" if same else "All were played")
    page.all_kept()
    page.reads("points 15-15" if same else "points 15-30")
    page.wait(lambda: len(winners(service_url, match)) == (2 if same else 3))
    assert "The same?" not in page.text


def test_points_of_another_phone_come_without_a_touch(page, service_url):
    match = at_the_score(page, "Shared")
    play(page, WON)
    page.all_kept()
    post(f"{service_url}/v1/matches/{match}/points", {"winner": "own"})
    page.reads("points 30-0")
    play(page, WON)
    page.reads("points 40-0")
    assert "The same?" not in page.text


def test_a_phone_that_joins_between_points_gets_the_plan(page, browser, service_url):
    match = at_the_score(page, "Joined")
    page.go("Advice")
    page.press("Play this")
    said = page.wait(lambda: page.shown(".suggestion:has([aria-pressed=true]) > h2"))
    page.go("Score")
    play(page, WON)
    page.all_kept()
    forget_all(browser, service_url)  # the other phone
    browser.get(f"{service_url}/match#/m/{match}/score")
    page.reads("points 15-0", f"By the plan: {said}")
    assert browser.find_element(By.ID, "played").is_enabled()
    for tried in (0, 9):  # chosen, then tried in vain: it is no longer suggested
        left = {"tactic": "drop-shot-against-deep-position", "tried": tried, "won": 0}
        post(f"{service_url}/v1/matches/{match}/tries", left)
    page.reads("By the plan (won 0 of 9): Drop shot when they stand far back")


def test_a_phone_hands_its_match_over_with_the_points_that_it_never_sent(browser, line, service_url):
    page = MatchPage(browser, line.url).open()
    match = at_the_score(page, "Handed over")
    play(page, WON)
    page.all_kept()
    line.cut = True
    play(page, EARNED, EASY)
    page.press("2 waiting")
    page.press("Hand over to another phone")
    page.reads("It carries 2 points")
    link = page.shown(".link")
    assert link == f"{line.url}/match#/m/{match}/hand/EO"
    other = MatchPage(browser, service_url)
    forget_all(browser, line.url)  # the battery is dead
    browser.get(link.replace(line.url, service_url))
    other.reads("The other phone holds 2 points", EARNED, EASY)
    check(browser, "take over")
    other.press("Take them over")
    other.reads("points 15-30")
    other.all_kept()
    kept = standing(service_url, match, "points")
    assert [(one["winner"], one.get("own_error")) for one in kept] == [
        ("own", None),
        ("opponent", False),
        ("opponent", True),
    ]
