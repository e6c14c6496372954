"""A service that needs tokens, under a path of its own: a match goes to another phone by a link that works once."""

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from werkzeug.middleware.dispatcher import DispatcherMiddleware
from werkzeug.wrappers import Response

from tacticapi.advice import Adviser
from tacticapi.club import Services, clubs, scorekeeping
from tacticapi.club.entries import page_of_match

from ..databases import app_on, listening, new_database, services_of
from .access import check
from .chromium import complaints, forget_all, requested
from .page import MatchPage
from .test_points import WON, at_the_score

PREFIX = "/tactics"
MIDDLE_BALL = "warmup.middle_ball_on_forehand"
_REFUSED_LATE = """
const typed = new Promise((done) => addEventListener('submit', done, {once: true}));
const ask = window.fetch;
window.fetch = async (...asked) => {
  const answer = await ask(...asked);
  if (answer.status === 401) await typed, window.refusedLate = true;
  return answer;
};
"""


@dataclass(frozen=True)
class Hosted:
    """Where the service is, and what it keeps."""

    url: str
    services: Services
    club: str
    token: str

    def winners(self, match: str) -> list[str]:
        page = page_of_match(self.services, self.club, match, "points")
        return [entry.body["winner"] for entry in page if entry.body]


@pytest.fixture(scope="module")
def hosted(adviser: Adviser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Hosted]:
    with app_on(new_database("sqlite", tmp_path_factory.mktemp("hosted")), adviser) as inside:
        services = services_of(inside)
        club = clubs.create(services, "Larch").club_id
        token = clubs.create_token(services, club, "office", clubs.SCOPES).text
        with listening(DispatcherMiddleware(Response("another site", 404), {PREFIX: inside})) as address:
            yield Hosted(f"{address}{PREFIX}", services, club, token)


@pytest.fixture
def office(browser: Chrome, hosted: Hosted) -> MatchPage:
    """The page of a phone that has the token of the club."""
    as_new(browser, hosted)
    browser.execute_script("sessionStorage.setItem('tactics/tacticapi/token', arguments[0])", hosted.token)
    return MatchPage(browser, hosted.url).open()


def as_new(browser: Chrome, hosted: Hosted) -> None:
    browser.get(f"{hosted.url}/livez")
    browser.execute_script("sessionStorage.clear()")
    forget_all(browser, hosted.url.removesuffix(PREFIX))
    browser.get(f"{hosted.url}/livez")
    complaints(browser)
    requested(browser)


def test_the_page_works_under_a_path_and_asks_for_nothing_outside_it(office, browser, hosted):
    match = at_the_score(office, "Under a path")
    office.press(WON, ".points")
    office.all_kept()
    assert hosted.winners(match) == ["own"]
    scope = "return navigator.serviceWorker.ready.then((each) => each.scope)"
    assert browser.execute_script(scope) == f"{hosted.url}/"
    assert [address for address in requested(browser) if not address.startswith((hosted.url, "about:", "data:"))] == []
    assert complaints(browser) == []
    browser.get(f"{hosted.url}/")
    office.press("Continue: Heron and Under a path")
    office.wait(lambda: office.match_id == match)


def test_another_phone_takes_the_match_over_by_a_link_that_works_once(office, browser, hosted):
    match = at_the_score(office, "Handed on")
    office.press(WON, ".points")
    office.press("All kept")
    office.press("Hand over to another phone")
    office.reads("It lets one phone into this match, once, until")
    assert browser.find_element(By.CSS_SELECTOR, "svg.code").rect["width"] > 200
    check(browser, "hand over by a link that works once")
    link = office.shown(".link")
    assert link.startswith(f"{hosted.url}/match#/court/link_")

    as_new(browser, hosted)  # the other phone
    browser.get(link)
    office.reads("points 15-0")
    assert "link_" not in browser.current_url
    office.press(WON, ".points")
    office.all_kept()
    assert hosted.winners(match) == ["own", "own"]
    browser.refresh()
    office.reads("points 30-0")

    as_new(browser, hosted)  # a third one
    browser.get(link)
    office.reads("This link does not work", "It has already been opened. Ask for a new link")
    assert scorekeeping.score(hosted.services, hosted.club, match)[0]["points"] == ["30", "0"]


def test_a_token_is_typed_in_once_and_kept_for_the_window_only(browser, hosted):
    first = clubs.create_token(hosted.services, hosted.club, "phone", clubs.SCOPES)
    as_new(browser, hosted)
    page = MatchPage(browser, hosted.url).open()
    page.reads("This service needs your club's token.")
    assert "A valid bearer token is required" not in page.text  # it was not asked for yet
    check(browser, "asked for a token")
    use_token(page, first.text)
    page.begin("Heron", "K8")
    clubs.revoke_token(hosted.services, hosted.club, first.token.id)
    page.answer(MIDDLE_BALL, "Forehand")
    page.reads("1 waiting, no token")
    browser.execute_script(_REFUSED_LATE)
    browser.execute_script("window.dispatchEvent(new Event('online'))")  # it tries again with the revoked token
    use_token(page, hosted.token)
    page.wait(lambda: browser.execute_script("return window.refusedLate"))
    page.all_kept()
    assert not browser.find_element(By.ID, "token").is_displayed()
    assert first.text not in browser.execute_script("return Object.values(localStorage).join(' ')")
    assert "token" in browser.execute_script("return Object.keys(sessionStorage).join(' ')")
    browser.refresh()
    page.tallies(MIDDLE_BALL, "1 of 1 chance.")


def use_token(page: MatchPage, text: str) -> None:
    page.browser.find_element(By.ID, "token").send_keys(text)
    page.press("Use this token")
    page.wait(lambda: not page.browser.find_element(By.ID, "token").is_displayed())
