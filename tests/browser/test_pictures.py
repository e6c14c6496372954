"""Words in pictures are no wider in a real face than was reckoned with when they were placed apart."""

import json
from typing import Any

from tacticapi.domain.court import Hands
from tacticapi.pictures.court import tactic_picture
from tests.unit.pictures.test_places import LETTER

_MEASURE = """
document.body.replaceChildren();
return arguments[0].flatMap((text) => {
  const picture = new DOMParser().parseFromString(text, 'image/svg+xml').documentElement;
  document.body.replaceChildren(document.importNode(picture, true));
  const size = (row) => parseFloat(getComputedStyle(row).fontSize);
  return [...document.querySelectorAll('text')].map((row) =>
    [row.textContent, row.getComputedTextLength() / row.textContent.length / size(row)]);
});
"""


def test_letters_are_as_wide_as_was_reckoned_with(browser, rulebook):
    browser.get("data:text/html,<title>pictures</title><body>")
    drawn = [tactic_picture(place, Hands(), title=name) for name, place in rulebook.places.items()]
    measured: list[Any] = browser.execute_script(_MEASURE, drawn)
    assert len(measured) > len(drawn)
    wide = {text: round(width, 2) for text, width in measured if width > LETTER and len(text) > 6}
    assert wide == {}, json.dumps(wide)
