"""Where a service asks for a token, the page takes it once, keeps it for its window, and loses no entry over it."""

from pathlib import Path

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

from tacticapi.advice import Adviser
from tacticapi.club import Services, clubs
from tacticapi.store import open_engine

from .line import Line
from .page import MatchPage
from .test_access import check

MIDDLE_BALL = "warmup.middle_ball_on_forehand"
_KEPT = "return Object.keys({}).map((name) => {}[name]).join(' ')"


@pytest.fixture(scope="module")
def services(service_url: str, service_folder: Path, adviser: Adviser) -> Services:
    return Services(open_engine(f"sqlite:///{service_folder / 'kept.db'}"), adviser)


def test_a_token_is_typed_in_once_and_kept_for_the_window_only(browser: Chrome, line: Line, services: Services) -> None:
    line.from_afar = True
    club = clubs.create(services, "Larch").club_id
    first = clubs.create_token(services, club, "phone", clubs.SCOPES)
    page = MatchPage(browser, line.url).open()
    page.reads("A valid bearer token is needed", "This service opens a club with its token.")
    check(browser, "asked for a token")
    use_token(page, first.text)
    page.begin("Heron", "K8")
    clubs.revoke_token(services, club, first.token.id)
    page.answer(MIDDLE_BALL, "Forehand")
    page.reads("1 waiting, no token")
    use_token(page, clubs.create_token(services, club, "phone", clubs.SCOPES).text)
    page.all_kept()
    kept = browser.execute_script(_KEPT.replace("{}", "localStorage"))
    assert first.text not in kept
    assert "token" in browser.execute_script("return Object.keys(sessionStorage).join(' ')")
    browser.refresh()
    page.reads("1 of 1 chance.")


def use_token(page: MatchPage, text: str) -> None:
    page.browser.find_element(By.ID, "token").send_keys(text)
    page.press("Use this token")
    page.wait(lambda: not page.browser.find_element(By.ID, "token").is_displayed())
