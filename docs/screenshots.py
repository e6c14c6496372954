"""Take the two pictures for the coach's guide from the demo match on a running service.

Run it from the top level of the checkout: python -m docs.screenshots http://127.0.0.1:8000
"""

import base64
import sys
import tempfile
from pathlib import Path

from selenium.webdriver import Chrome

from tests.browser.chromium import set_screen, started
from tests.browser.page import MatchPage

FOLDER = Path(__file__).parents[1] / "tacticapi" / "web" / "static" / "guide"
SHOWN = {5: "warm-up", 19: "plan"}  # steps of the demo
WIDTH, HEIGHT = 390, 720
LOADED = "return [...document.images].every((one) => one.complete && one.naturalWidth)"
ALONE = "document.getElementById('demo').hidden = arguments[0]"


def main(url: str) -> None:
    """Play the demo and save a picture at each of the steps."""
    with tempfile.TemporaryDirectory() as profile:
        browser = started(Path(profile))
        try:
            page = MatchPage(browser, url)
            set_screen(browser, WIDTH, HEIGHT)
            browser.get(f"{url}/demo")
            page.press("Pause", "#demo")
            for step in range(2, max(SHOWN) + 1):
                page.press("Next", "#demo")
                page.wait(lambda step=step: page.shown("#demo .tally").startswith(f"Demo {step} "))
                if step in SHOWN:
                    page.wait(
                        lambda: (
                            not browser.execute_script(
                                "return document.querySelector('[aria-busy], .break [aria-disabled]')"
                            )
                        )
                    )
                    page.wait(lambda: browser.execute_script(LOADED))
                    take(browser, FOLDER / f"{SHOWN[step]}.png")
        finally:
            browser.quit()


def take(browser: Chrome, file: Path) -> None:
    """Save what the match screen shows, without the demo bar."""
    browser.execute_script(ALONE, True)
    told = browser.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})
    browser.execute_script(ALONE, False)
    file.write_bytes(base64.b64decode(told["data"]))


if __name__ == "__main__":
    main(sys.argv[1])
