"""The plan card as the browser prints it: one page of A6 with every word of it, whatever the rulebook has to say."""

import base64
import io
import random
from collections.abc import Iterable, Set
from unicodedata import normalize

import pytest
import requests
from pypdf import PdfReader
from selenium.webdriver import Chrome

from tacticapi.api.card import NOTES, card_page
from tacticapi.club.card import PRESSURE, RALLY, RETURN, SERVE, Card, CardLine
from tacticapi.domain.advice import Safety, SourceLine
from tacticapi.domain.court import Hands
from tacticapi.domain.rules import Rulebook, Tactic
from tacticapi.domain.situation import Moment
from tacticapi.seeds import demo_situation

from .access import check as check_access
from .chromium import complaints
from .page import post

A6_PT = (105 / 25.4 * 72, 148 / 25.4 * 72)
WHITE = frozenset({"heat-precautions", "uneven-or-slippery-court"})  # safety that stands beside a plan
MIN_PT, ROUNDED = 5.5, 0.001
LABEL = "W" * 60
_SMALL = """
const size = (each) => parseFloat(getComputedStyle(each).fontSize);
const drawn = (each) => each.closest('svg') ? size(each) * each.closest('svg').getScreenCTM().a : size(each);
return [...document.querySelectorAll('.a6 *')].filter((each) => each.checkVisibility() && drawn(each) < 11
  && [...each.childNodes].some((node) => node.nodeType === 3 && node.data.trim()))
  .map((each) => `${each.tagName} ${drawn(each)} ${each.textContent}`);
"""
_NO_DIALOGUE = "window.print = () => {}"
A4 = {"paperWidth": 8.27, "paperHeight": 11.69}  # what a printer offers first; the card asks for its own size


def printed(browser: Chrome) -> PdfReader:
    """What is on the screen as the PDF that the browser prints of it."""
    told = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True, "printBackground": False, **A4})
    return PdfReader(io.BytesIO(base64.b64decode(told["data"])))


def read(pdf: PdfReader) -> str:
    """Its letters without the breaks that a line or a ligature makes."""
    return letters_of("".join(page.extract_text() for page in pdf.pages))


def letters_of(text: str) -> str:
    return "".join(normalize("NFKC", text).split())


def is_one_a6_page(pdf: PdfReader) -> bool:
    sizes = [(float(page.mediabox.width), float(page.mediabox.height)) for page in pdf.pages]
    return sizes == [pytest.approx(A6_PT, abs=1.5)]


def said(tactic: Tactic) -> str:
    """The longest line that it has."""
    return max([tactic.say, *(one.say or "" for one in tactic.when)], key=len)


def line(tactic: Tactic) -> CardLine:
    return CardLine(tactic.id, said(tactic), tactic.stop_when, caution=tactic.caution)


def of(rulebook: Rulebook, categories: Set[str]) -> list[Tactic]:
    """The tactics of these categories, those with most to say first."""
    found = [tactic for tactic in rulebook.tactics.values() if tactic.category in categories]
    return sorted(found, key=lambda tactic: -len(said(tactic) + tactic.stop_when + (tactic.caution or "")))


def card_of(rulebook: Rulebook, chosen: Iterable[Tactic], safety: Set[str] = frozenset()) -> Card:
    serve, receive, first, second, pressure = chosen = list(chosen)
    alerts = [rulebook.tactics[name] for name in sorted(safety)]
    return Card(
        own="own",
        opponent=LABEL,
        moment=Moment.BEFORE_MATCH,
        rulebook=rulebook.version,
        hands=Hands("right", "left"),
        safety=tuple(Safety(t.id, t.say, t.why, t.caution, t.alone, SourceLine(t.status)) for t in alerts),
        serve=line(serve),
        targets={"deuce": "wide", "ad": "T"},
        receive=line(receive),
        stance=rulebook.places["attack-second-serve"],
        rally=(line(first), line(second)),
        pressure=line(pressure),
    )


def parts(rulebook: Rulebook) -> list[list[Tactic]]:
    rally = of(rulebook, RALLY)
    return [of(rulebook, SERVE), of(rulebook, RETURN), rally, rally[1:], of(rulebook, PRESSURE)]


def check(browser: Chrome, card: Card) -> None:
    """Print a card, and see that every word of it is on its one page."""
    page = card_page(card)
    browser.get("data:text/html;base64," + base64.b64encode(page.encode()).decode())
    pdf = printed(browser)
    assert is_one_a6_page(pdf), [pdf.pages[0].mediabox, len(pdf.pages)]
    letters = read(pdf)
    spoken = [one.say for one in card.lines] + [one.look_again for one in (card.lines[0], card.lines[1], card.lines[2])]
    alerts = [text for one in card.safety for text in (one.say, one.caution or "")]
    for text in [*spoken, *alerts, *card.cautions, NOTES]:
        assert letters_of(text) in letters, text


def test_the_longest_texts_of_the_rulebook_stand_on_one_page(browser, rulebook):
    longest = card_of(rulebook, [tactics[0] for tactics in parts(rulebook)], WHITE)
    check(browser, longest)
    size = float(browser.execute_script("return getComputedStyle(document.body).fontSize").removesuffix("px")) * 0.75
    assert size >= MIN_PT - ROUNDED


def test_any_choice_of_tactics_stands_on_one_page(browser, rulebook):
    chance = random.Random(7)
    for number in range(24):
        safety = WHITE if number % 2 == 0 else frozenset()
        check(browser, card_of(rulebook, [chance.choice(tactics) for tactics in parts(rulebook)], safety))


def test_a_served_card_prints_on_one_page_in_black_on_white(browser, service_url):
    demo = demo_situation("before-match")
    ids = {
        f"{side}_id": post(f"{service_url}/v1/players", {"side": side, "label": "Sleet", "facts": demo[side]})
        for side in ("own", "opponent")
    }
    match = post(f"{service_url}/v1/matches", {**ids, "context": demo["context"]})
    browser.get(f"{service_url}/v1/matches/{match}/card")
    pdf = printed(browser)
    assert is_one_a6_page(pdf)
    letters = read(pdf)
    for part in ("PlanagainstSleet", "Serve,deuce", "Serve,ad", "wide", "Rally.", "Pressure.", "Whentochange"):
        assert part in letters, part
    browser.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"media": "", "features": [{"name": "prefers-color-scheme", "value": "dark"}]}
    )
    colours = browser.execute_script(
        "const s = getComputedStyle(document.body); return [s.color, s.backgroundColor, document.documentElement.lang]"
    )
    assert colours == ["rgb(0, 0, 0)", "rgb(255, 255, 255)", "en"]


def test_card_and_watch_sheet_print_from_the_page_and_are_whole_on_a_phone(page, browser, service_url):
    match = page.begin("Larch", "Sleet", surface="clay")
    browser.get(f"{service_url}/match#/print")
    page.press("Larch and Sleet")
    page.reads("Plan against Sleet", "Watch sheet, first games")
    check_access(browser, "card and watch sheet")
    browser.execute_script(_NO_DIALOGUE)
    for words, pages in (("Print both", 3), ("Print the card", 1), ("Print the watch sheet", 2)):
        page.press(words)
        pdf = printed(browser)
        sizes = [(float(one.mediabox.width), float(one.mediabox.height)) for one in pdf.pages]
        assert sizes == [pytest.approx(A6_PT, abs=1.5)] * pages, words
    letters = read(pdf)
    stop = ("Stop play and get help", "trouble breathing")
    for part in ("Larch against Sleet", "Forehand volley", "Second serve", "Not returned", *stop):
        assert letters_of(part) in letters
    assert letters_of("Print the") not in letters
    small = browser.execute_script(_SMALL)
    assert small == []
    requests.post(f"{service_url}/v1/matches/{match}/end", timeout=30)


def test_a_watch_sheet_prints_without_a_match_too(page, browser):
    page.browser.get(f"{page.url}/match#/print/sheet")
    page.wait(lambda: page.heading == "Watch sheet")
    browser.execute_script(_NO_DIALOGUE)
    page.press("Print the watch sheet")
    assert len(printed(browser).pages) == 2
    assert complaints(browser) == []
