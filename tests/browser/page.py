"""The match page as a coach handles it, and what the service holds of it in the end."""

import time
from collections.abc import Callable
from typing import Any, Self

import requests
from selenium.common.exceptions import (
    ElementClickInterceptedException,
    ElementNotInteractableException,
    NoSuchElementException,
    StaleElementReferenceException,
)
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

PATIENCE_S = 90  # on a machine that does much else
KEPT = "All kept"
LOOKS_TOLD = ".looks .question, .looks [role=status]:not(:empty)"
DRAWN_AGAIN = (  # what was found is not there, or not at its place, in this moment
    ElementClickInterceptedException,
    ElementNotInteractableException,
    NoSuchElementException,
    StaleElementReferenceException,
)
_FIND = """
const [words, within, done] = arguments;
// a click beside its aim, where the page has moved, does nothing
window.aimed ?? document.addEventListener('click', (event) => {
  if (!window.aimed) return;
  if (window.aimed.contains(event.target)) window.aimed = false;
  else event.stopImmediatePropagation(), event.preventDefault();
}, true);
const shown = (each) => each.checkVisibility() && !each.disabled && each.getAttribute('aria-disabled') !== 'true';
const named = (each) => (each.getAttribute('aria-label') ?? each.innerText).replace(/\\s+/g, ' ').trim();
const begins = (each) => shown(each) && named(each).startsWith(words);
const roots = [...document.querySelectorAll(within)];
const target = roots.flatMap((root) => [...root.querySelectorAll('button, a, summary, label')]).find(begins);
if (target) {
  target.scrollIntoView({block: 'center', behavior: 'instant'});
  const place = () => JSON.stringify(target.getBoundingClientRect());
  const before = place();
  requestAnimationFrame(() => {
    const {left, top, width, height} = target.getBoundingClientRect();
    const [x, y] = [left + width / 2, top + height / 2];
    const still = target.isConnected && place() === before && target.contains(document.elementFromPoint(x, y));
    window.aimed = still && target;
    done(still ? [x, y] : null);
  });
} else done(null);
"""
_FILL = """
for (const [id, value] of Object.entries(arguments[0])) {
  const field = document.getElementById(id);
  field.value = value;
  if (field.value !== value) throw new Error(`${id} does not take ${value}`);
  for (const kind of ['input', 'change']) field.dispatchEvent(new Event(kind, {bubbles: true}));
}
"""
_HIT = "const hit = !window.aimed; if (!hit) window.aimed = false; return hit;"


class MatchPage:
    """One browser at the page of one service."""

    def __init__(self, browser: Chrome, url: str) -> None:
        self.browser, self.url = browser, url

    def open(self) -> Self:
        """Open the page and wait until it is filled."""
        self.browser.get(f"{self.url}/match")
        self.wait(lambda: self.heading)
        return self

    @property
    def heading(self) -> str:
        """The heading of the screen that is shown."""
        return self.shown("h1")

    def shown(self, selector: str) -> str:
        """The text of the first such element, read in one step, since the page may be drawn again at any time."""
        return str(
            self.browser.execute_script("return document.querySelector(arguments[0])?.innerText ?? ''", selector)
        )

    @property
    def text(self) -> str:
        """Everything that can be read."""
        return self.shown("body")

    @property
    def match_id(self) -> str:
        """Id of the match that the page is at."""
        return self.browser.current_url.partition("#/m/")[2].partition("/")[0]

    def wait(self, holds: Callable[[], Any]) -> Any:
        """What `holds` gives as soon as it is true; fails with what can be read then."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            try:
                if found := holds():
                    return found
            except DRAWN_AGAIN:
                pass
            time.sleep(0.03)
        raise AssertionError(f"this did not come about; the page reads:\n{self.text}")

    def reads(self, *words: str) -> None:
        """Wait until all these words can be read."""
        for each in words:
            self.wait(lambda each=each: each in self.text)

    def press(self, words: str, within: str = "body") -> None:
        """Press what is shown and begins with these words, as a thumb would: it is still and nothing lies over it."""

        def pressed() -> bool:
            target = self.browser.execute_async_script(_FIND, words, within)
            if target is None:
                return False
            at = {"x": target[0], "y": target[1], "button": "left", "clickCount": 1}
            for kind in ("mousePressed", "mouseReleased"):
                self.browser.execute_cdp_cmd("Input.dispatchMouseEvent", {"type": kind, **at})
            return bool(self.browser.execute_script(_HIT))

        self.wait(pressed)

    def go(self, screen: str) -> None:
        """Go to another screen."""
        self.press(screen, "#nav")
        self.wait(lambda: self.browser.execute_script("return document.activeElement.tagName") == "H1")

    def danger_signs(self) -> None:
        """Go to the questions on danger signs."""
        self.press("Danger signs")
        self.wait(lambda: self.heading == "Danger signs")

    def everything_else(self) -> None:
        """Go from the pad of the warm-up to the list of all questions."""
        self.press("More", ".stages")
        self.wait(lambda: self.heading == "Everything else")

    def answer(self, kind: str, *taps: str) -> None:
        """Answer the question with these taps, from the pad by way of the list."""
        if self.heading == "Warm-up":
            self.everything_else()
        for tap in taps:
            self.press(tap, f'[data-kind="{kind}"]')

    def tallies(self, kind: str, words: str) -> None:
        """Wait until the page says this of what was seen of this kind."""
        self.wait(lambda: self.shown(f'[data-kind="{kind}"] .tally') == words)

    def begin(self, own: str, opponent: str, **choices: str) -> str:
        """Begin a match; choices by the id of their field. Its id."""
        self.press("What your player can do")
        chosen = {field.replace("_", "-"): value for field, value in choices.items()}
        self.browser.execute_script(_FILL, {"own-label": own, "opponent-label": opponent, **chosen})
        self.press("Start with the warm-up")
        self.wait(lambda: self.heading == "Warm-up")
        self.wait(lambda: self.browser.find_elements(By.CSS_SELECTOR, LOOKS_TOLD))
        return self.match_id

    def end(self) -> None:
        """End the match, say so again, and go on to the debrief."""
        for words in ("End the match", "Yes, it is over", "To the debrief"):
            self.press(words, "main")

    def all_kept(self) -> None:
        """Wait until the service has every entry."""
        self.reads(KEPT)


def standing(url: str, match: str, noun: str) -> list[Any]:
    """What the service holds of a match under this noun, without what was taken back."""
    items = requests.get(f"{url}/v1/matches/{match}/{noun}?page_size=100", timeout=30).json()["items"]
    gone = {item.get("supersedes") for item in items}
    name = {"observations": "observation", "points": "point", "tries": "tries"}[noun]
    return [item[name] for item in items if item.get(name) and item["id"] not in gone]


def post(address: str, body: object) -> str:
    """Make something at the service, as another phone does. Its id."""
    answer = requests.post(address, json=body, timeout=60)
    assert answer.status_code == 201, answer.text
    return str(answer.json()["id"])
