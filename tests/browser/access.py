"""Nobody is kept out of a state of the page: axe-core finds no violation, on three sizes of screen, light and dark.

Contrast is at least 7. axe-core comes from npm, pinned beside this file: npm ci --prefix tests/browser
"""

from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver import Chrome

from .chromium import DESKTOP, PHONE, TABLET, set_scheme, set_screen

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
    bad = {where: what for where, what in found.items() if what}
    assert not bad, bad
