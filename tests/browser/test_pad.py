"""A warm-up on the pad: one tap a ball, misses too, in one place that neither moves nor scrolls."""

from collections import Counter

from .access import check
from .chromium import PHONE, set_screen
from .page import standing

MAX_TAPS = 30
WARM_UP = {  # by part of the pad: what is tapped, in which group, how often
    "Hand": [("left", "Plays with the", 1), ("one-handed", "Backhand", 1)],
    "Ground": [
        *(("Deep", "Forehand", 4), ("Short", "Forehand", 1), ("Out", "Forehand", 2), ("Deep", "Backhand", 2)),
        *(("Out", "Backhand", 3), ("High, missed", "Backhand", 2), ("Low, handled", "Backhand", 1)),
    ],
    "Net": [
        ("In", "Forehand volley", 1),
        ("Missed", "Backhand volley", 1),
        ("Across, in", "Smash", 1),
        ("Missed", "Smash", 1),
    ],
    "Serve": [("Wide", "Deuce court", 2), ("Fault", "Deuce court", 1), ("T", "Ad court", 2), ("Fault", "Ad court", 1)],
}
COUNTED = {
    ("warmup.forehand_made", 1): 5,
    ("warmup.forehand_made", 0): 2,
    ("warmup.backhand_made", 0): 3,
    ("warmup.high_backhand", 0): 2,
    ("warmup.low_backhand", 1): 1,
    ("warmup.volley_backhand", 0): 1,
    ("warmup.smash_quality", 0): 1,
}
LANDSCAPE = (740, 360)
_PLACES = """
return [...document.querySelectorAll('.stages > *, .undo button, .looks > button')].map((each) => {
  const at = each.getBoundingClientRect();
  return [each.innerText, Math.round(at.x), Math.round(at.y)];
});
"""
SCROLLS = """
const pad = document.querySelector('.pad')?.closest('.column');
return pad ? pad.scrollHeight - pad.clientHeight : 0;
"""
_HIDDEN = """
const [main, out] = [document.getElementById('main'), []];
for (const each of document.querySelectorAll('.pad button, .pad a, .pad select')) {
  const at = each.getBoundingClientRect();
  if (!each.checkVisibility()) continue;
  const hit = document.elementFromPoint(at.x + at.width / 2, at.y + at.height / 2);
  if (hit !== each && !each.contains(hit)) out.push(each.outerHTML.slice(0, 80));
}
return out;
"""


def test_a_warm_up_of_25_balls_takes_at_most_30_taps_and_no_swipe(page, browser, service_url):
    match = page.begin("Heron", "Padded")
    places = browser.execute_script(_PLACES)
    for part, balls in WARM_UP.items():
        page.press(part, ".stages")
        for words, group, times in balls:
            for _ in range(times):
                page.press(words, f'[aria-label="{group}"]')
        assert browser.execute_script(_PLACES) == places
    taps = len(WARM_UP) - 1 + sum(times for balls in WARM_UP.values() for *_, times in balls)  # the first part is open
    assert taps <= MAX_TAPS
    assert browser.execute_script("return [scrollY, document.getElementById('main').scrollTop]") == [0, 0]
    page.all_kept()
    entered = standing(service_url, match, "observations")
    assert COUNTED.items() <= Counter((one["what"], one.get("count")) for one in entered).items()
    spots = {(one["court"], *one["counts"]) for one in entered if one["what"] == "warmup.serve_spots"}
    assert spots == {("deuce", "wide"), ("ad", "T")}


def test_everything_on_the_pad_can_be_pressed_in_portrait_and_landscape(page, browser):
    page.begin("Heron", "Turned")
    page.press("Start the clock")
    for stage in ("Hand", "Ground", "Net", "Serve"):
        page.press(stage, ".stages")
        check(browser, f"pad: {stage}")
        for size in (PHONE, (390, 844), LANDSCAPE):
            set_screen(browser, *size)
            page.wait(lambda: browser.execute_script("return [innerWidth, innerHeight]") == [*size])  # noqa: B023
            page.wait(lambda: browser.execute_script(_HIDDEN) == [])  # once laid out for this screen
            assert browser.execute_script(SCROLLS) == 0, (size, stage)


def test_a_tap_is_one_ball_and_one_undo_takes_all_of_it_back(page, service_url):
    match = page.begin("Heron", "Undone")
    page.press("Ground", ".stages")
    page.press("Deep", '[aria-label="Forehand"]')
    page.press("Deep", '[aria-label="Forehand"]')
    page.reads("Deep\n2")
    page.press("Undo")
    page.reads("Deep\n1")
    page.all_kept()
    assert sorted(one["what"] for one in standing(service_url, match, "observations")) == [
        "warmup.depth",
        "warmup.forehand_made",
    ]


def test_a_hand_that_was_told_at_the_start_counts_as_answered(page):
    page.begin("Heron", "Told", opponent_hand="left")
    page.wait(lambda: page.shown('[aria-label="Plays with the"] [aria-pressed=true]') == "left")
    page.everything_else()
    page.press("Sear", "main")
    page.tallies("opponent.handedness", "Last entry: left.")


def test_the_list_remembers_its_search_and_its_place(page, browser):
    page.begin("Heron", "Sought")
    page.everything_else()
    page.press("How to see it")
    check(browser, "every question")
    browser.find_element("id", "words").send_keys("backhand")
    page.reads("questions shown")
    browser.execute_script("window.scrollTo(0, 700)")
    page.wait(lambda: browser.execute_script("return scrollY") == 700)
    page.go("Watch")
    page.everything_else()
    page.wait(lambda: browser.execute_script("return scrollY") == 700)
    assert browser.find_element("id", "words").get_property("value") == "backhand"
