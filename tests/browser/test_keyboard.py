"""The page without a pointer: everything is reached by Tab, seen while it has the focus, and pressed by a key."""

from selenium.webdriver import ActionChains, Chrome
from selenium.webdriver.common.keys import Keys

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

    def __init__(self, browser: Chrome) -> None:
        self.browser = browser

    def send(self, keys: str) -> None:
        ActionChains(self.browser).send_keys(keys).perform()

    def focused(self) -> dict[str, str]:
        found: dict[str, str] = self.browser.execute_script(_FOCUSED)
        return found

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


def test_a_match_is_begun_watched_and_scored_by_keys_alone(page: MatchPage, browser: Chrome, service_url: str) -> None:
    keys = Keyboard(browser)
    for player in ("Wren", "Keys"):
        keys.tab_to("Nickname or code")
        keys.send(player)
    keys.tab_to("Surface")
    keys.send("g")  # a list takes the first letter
    page.wait(lambda: keys.focused()["value"] == "grass")
    keys.tab_to("Age band")
    keys.send("U")
    page.wait(lambda: keys.focused()["value"] == "U12")
    keys.press("Begin with the warm-up")
    page.wait(lambda: keys.focused()["words"] == "Warm-up")
    page.wait(lambda: browser.find_elements("css selector", ".looks .question"))
    keys.press("Start the clock", Keys.SPACE)
    page.reads(" left")
    keys.press("Ground")
    keys.press("Out")
    keys.send(Keys.ENTER)  # the focus has stayed: a second ball needs no way there
    page.wait(lambda: keys.focused()["words"] == "Out 2")
    keys.press("Undo", Keys.SPACE)
    page.reads("Out\n1\n")  # one of the two balls is left
    keys.press("Advice")
    page.wait(lambda: keys.focused()["words"] == "Advice")
    page.reads("Most junior events do not allow")
    keys.press("Play this", Keys.SPACE)
    page.reads("This is the plan.")
    keys.press("Score")
    page.wait(lambda: keys.focused()["words"] == "Score")
    keys.tab_to("By the plan")
    keys.send(Keys.SPACE)
    keys.press("Point won", Keys.SPACE)
    page.reads("points 15-0", "won 1 of 1")
    for calls in ("30-0", "40-0"):
        page.wait(lambda: not browser.find_elements("css selector", ".points [aria-disabled]"))
        keys.send(Keys.SPACE)  # the focus has stayed
        page.reads(f"points {calls}")
    page.wait(lambda: not browser.find_elements("css selector", ".points [aria-disabled]"))
    keys.send(Keys.SPACE)
    page.wait(lambda: keys.focused()["words"] == "Change of ends")
    keys.press("Show the player")
    page.wait(lambda: keys.focused()["words"] == "Close")
    keys.send(Keys.ESCAPE)
    page.wait(lambda: not browser.find_elements("css selector", ".break [aria-disabled]"))
    keys.press("Back to the score")
    page.wait(lambda: keys.focused()["words"] == "Point won")
    page.all_kept()
    assert [seen["count"] for seen in standing(service_url, page.match_id, "observations")] == [0]


def test_what_happens_is_told_to_who_cannot_see_it(page: MatchPage, browser: Chrome) -> None:
    page.begin("Wren", "Heard")
    region = browser.find_element("id", "announce")
    assert region.get_attribute("role") == "status"
    page.answer("warmup.high_backhand", "1 a little")
    page.wait(lambda: region.get_property("textContent") == "Entered. High balls to the backhand: 1, a little")
    page.press("Undo")
    page.wait(lambda: region.get_property("textContent") == "Taken back. High balls to the backhand: 1, a little")
    page.go("Score")
    for _ in range(4):
        page.press("Point won")
    page.wait(lambda: region.get_property("textContent").endswith("Change of ends"))


def test_a_danger_sign_is_entered_and_lifted_by_keys_alone(page: MatchPage, browser: Chrome) -> None:
    keys = Keyboard(browser)
    page.begin("Wren", "Lifted")
    keys.press("Danger signs")
    keys.press("dizziness", card="physical.warning_sign")
    page.wait(lambda: keys.focused()["words"] == "Safety first")
    keys.press("Cleared by a qualified person", Keys.SPACE)
    page.wait(lambda: keys.focused()["words"] == "Not yet")  # where a second press by haste lands
    keys.send(Keys.ENTER)
    page.wait(lambda: keys.focused()["words"] == "Cleared by a qualified person")
    keys.send(Keys.ENTER)
    keys.press("Yes, cleared to play on")
    page.wait(lambda: keys.focused()["words"] == "Warm-up")
