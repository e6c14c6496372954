"""The reference page in a real browser: whole in itself, without a word of complaint, and without a foreign request."""

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.support.expected_conditions import url_to_be
from selenium.webdriver.support.wait import WebDriverWait

from .chromium import complaints, requested, set_screen
from .page import PATIENCE_S


@pytest.fixture
def page(browser: Chrome, service_url: str) -> Chrome:
    browser.get(f"{service_url}/docs")
    return browser


def test_the_page_asks_nobody_but_the_service_and_that_once(page: Chrome, service_url: str) -> None:
    asked = [address for address in requested(page) if not address.startswith("data:")]
    assert asked == [f"{service_url}/docs"]
    assert complaints(page) == []


def test_its_style_is_in_force_although_nothing_else_is_allowed(page: Chrome) -> None:
    assert page.find_element(By.CLASS_NAME, "method").value_of_css_property("font-weight") == "700"


def test_an_operation_opens_and_leads_to_its_body(page: Chrome, service_url: str) -> None:
    operation = page.find_element(By.ID, "suggest")
    operation.find_element(By.TAG_NAME, "summary").click()
    operation.find_element(By.LINK_TEXT, "Situation").click()
    WebDriverWait(page, PATIENCE_S).until(url_to_be(f"{service_url}/docs#schema-Situation"))
    shape = page.find_element(By.ID, "schema-Situation")
    shape.find_element(By.TAG_NAME, "summary").click()
    assert "moment (needed)" in shape.text


def test_it_fits_a_phone(page: Chrome) -> None:
    set_screen(page, 360, 640)
    for part in page.find_elements(By.CSS_SELECTOR, "#suggest summary, #listPlayers summary"):
        part.click()
    assert page.execute_script("return document.documentElement.scrollWidth") <= 360
