"""A coach takes a match from the warm-up to the debrief by keys alone; whoever cannot see hears what happens."""

import requests
from selenium.webdriver import ActionChains
from selenium.webdriver.common.keys import Keys

from .access import check
from .chromium import complaints
from .page import MatchPage, standing

MAX_STOPS = 150
_FOCUSED = """
const at = document.activeElement;
const label = at.labels?.[0]?.innerText ?? at.getAttribute('aria-label') ?? at.innerText ?? '';
const outline = getComputedStyle(at);
return {tag: at.tagName, words: label.replace(/\\s+/g, ' ').trim(), id: at.id,
        card: at.closest('[data-kind]')?.dataset.kind ?? '',
        seen: outline.outlineStyle !== 'none' && parseFloat(outline.outlineWidth) >= 2, value: at.value ?? null};
"""


class Keyboard:
    """Keys alone."""

    def __init__(self, page: MatchPage) -> None:
        self.page, self.browser = page, page.browser

    def send(self, keys: str) -> None:
        ActionChains(self.browser).send_keys(keys).perform()

    def focused(self) -> dict[str, str]:
        found: dict[str, str] = self.browser.execute_script(_FOCUSED)
        return found

    def at(self, words: str) -> None:
        """Wait until what reads so has the focus."""
        self.page.wait(lambda: self.focused()["words"] == words)

    def tab_to(self, words: str, card: str = "") -> None:
        """Tab on until what begins with these words has the focus; every stop on the way must show that it has it."""
        for _ in range(MAX_STOPS):
            self.send(Keys.TAB)
            at = self.focused()
            if at["tag"] in ("BODY", "H1"):  # the round begins anew, or the page was drawn again
                continue
            assert at["seen"], f"no outline at {at}"
            if at["words"].startswith(words) and card in at["card"]:
                return
        raise AssertionError(f"Tab does not come to {words}")

    def press(self, words: str, key: str = Keys.ENTER, card: str = "") -> None:
        self.tab_to(words, card)
        self.send(key)

    def choose(self, field: str, letters: str, value: str) -> None:
        """Choose from a list by its first letters."""
        self.tab_to(field)
        self.send(letters)
        self.page.wait(lambda: self.focused()["value"] == value)

    def point(self, words: str, score: str, by_the_plan: bool = False) -> None:
        """Enter a point as soon as the pad takes one."""
        self.page.wait(lambda: not self.browser.find_elements("css selector", ".points [aria-disabled]"))
        if by_the_plan:
            self.press("By the plan", Keys.SPACE)
        if not self.focused()["words"].startswith(words):  # the focus stays where a point was entered
            self.tab_to(words)
        self.send(Keys.SPACE)
        self.page.reads(score)


def test_a_match_from_warm_up_to_debrief(page, browser, service_url):
    keys = Keyboard(page)
    begin(page, keys)
    warm_up(page, keys)
    choose_a_plan(page, keys)
    play_a_game(page, keys)
    read_the_debrief(page, keys)
    match = page.match_id
    assert [seen.get("count") for seen in standing(service_url, match, "observations")] == [0, None]
    assert [point["winner"] for point in standing(service_url, match, "points")] == ["own", "opponent", *["own"] * 3]
    tries = standing(service_url, match, "tries")
    assert (sum(one["tried"] for one in tries), sum(one["won"] for one in tries)) == (2, 2)
    feedback = requests.get(f"{service_url}/v1/matches/{match}/feedback", timeout=30).json()["items"]
    assert [line["kind"] for line in feedback] == ["used"]
    assert complaints(browser) == []


def begin(page: MatchPage, keys: Keyboard) -> None:
    for player in ("Wren", "Keys"):
        keys.tab_to("Nickname or code")
        keys.send(player)
    keys.choose("Surface", "c", "clay")
    keys.choose("Serves first", "y", "own")
    keys.choose("Age band", "U", "U12")
    keys.press("What your player can do")
    check(page.browser, "form")
    keys.choose("How well can your player make the ball jump", "4", "4")
    keys.press("Start with the warm-up")
    keys.at("Warm-up")
    keys.press("Advice")
    page.reads("Moment: Before the match", "Print a card for the bag")
    keys.press("Watch")
    keys.at("Warm-up")


def warm_up(page: MatchPage, keys: Keyboard) -> None:
    page.wait(lambda: page.browser.find_elements("css selector", ".looks .question"))
    keys.press("Start the clock", Keys.SPACE)
    page.reads(" left")
    keys.press("Ground")
    keys.press("Out")
    keys.send(Keys.ENTER)  # the focus has stayed: a second ball needs no way there
    keys.at("Out 2")
    keys.press("Undo", Keys.SPACE)
    page.reads("Out\n1\n")  # one of the two balls is left
    keys.press("More")
    keys.at("Everything else")
    keys.press("1 a little", card="warmup.high_backhand")
    heard(page, "Entered. High balls to the backhand: 1, a little")


def choose_a_plan(page: MatchPage, keys: Keyboard) -> None:
    keys.press("Advice")
    keys.at("Advice")
    page.reads("Most junior events do not allow", "Moment: Warm-up", "rated 1 of 4", "Not if:", "Look again ")
    page.reads("it pays against", "Source:")
    keys.press("Play this", Keys.SPACE)
    page.reads("This is the plan.")
    check(page.browser, "advice")


def play_a_game(page: MatchPage, keys: Keyboard) -> None:
    keys.press("Score")
    keys.at("Score")
    keys.point("Point won", "points 15-0", by_the_plan=True)
    page.reads("won 1 of 1")
    keys.point("Lost: own error", "points 15-15", by_the_plan=True)  # an own error is no try
    keys.point("Lost: they earned it", "won 1 of 2", by_the_plan=True)
    keys.press("Undo", Keys.SPACE)
    heard(page, "Taken back. Lost: they earned it, plan played")
    page.reads("points 15-15", "won 1 of 1")
    keys.point("Point won", "points 30-15", by_the_plan=True)
    keys.point("Point won", "points 40-15")
    keys.point("Point won", "Keep the plan.")
    keys.at("Change of ends")
    heard(page, "Point won. Games 1-0, points 0-0; Keys serves. Change of ends")
    keys.press("Show the player")
    keys.at("Close")
    keys.send(Keys.ESCAPE)
    page.wait(lambda: not page.browser.find_elements("css selector", ".break [aria-disabled]"))
    keys.press("Back to the score")
    keys.at("Point won")
    page.reads("won 2 of 2", "serves, deuce court")


def read_the_debrief(page: MatchPage, keys: Keyboard) -> None:
    keys.press("Debrief")
    keys.at("Debrief")
    for words in ("End the match", "Yes, it is over", "To the debrief"):
        if not keys.focused()["words"].startswith(words):  # the question takes the focus
            keys.tab_to(words)
        keys.send(Keys.ENTER)
    page.reads("Start with this next time", "tried 2, won 2", "Open the full debrief")
    page.all_kept()


def heard(page: MatchPage, words: str) -> None:
    """Wait until a screen reader is told this."""
    region = page.browser.find_element("id", "announce")
    assert region.get_attribute("role") == "status"
    page.wait(lambda: region.get_property("textContent") == words)


def test_a_danger_sign_is_entered_and_lifted_by_keys_alone(page):
    keys = Keyboard(page)
    page.begin("Wren", "Lifted")
    keys.press("Danger signs")
    keys.press("dizziness", card="physical.warning_sign")
    keys.at("Safety first")
    keys.press("Cleared by a qualified person", Keys.SPACE)
    keys.at("Not yet")  # where a second press by haste lands
    keys.send(Keys.ENTER)
    keys.at("Cleared by a qualified person")
    keys.send(Keys.ENTER)
    keys.press("Yes, cleared to play on")
    keys.at("Warm-up")
