"""The reference page in a real browser: whole in itself, without a word of complaint, and without a foreign request."""

from selenium.webdriver.common.by import By

from .chromium import PHONE, complaints, requested
from .page import MatchPage


def test_the_reference_asks_nobody_opens_an_operation_and_fits_a_phone(browser, service_url):
    browser.get(f"{service_url}/docs")
    assert [address for address in requested(browser) if not address.startswith("data:")] == [f"{service_url}/docs"]
    assert complaints(browser) == []
    assert browser.find_element(By.CLASS_NAME, "method").value_of_css_property("font-weight") == "700"  # its own style
    operation = browser.find_element(By.ID, "suggest")
    operation.find_element(By.TAG_NAME, "summary").click()
    operation.find_element(By.LINK_TEXT, "Situation").click()
    MatchPage(browser, service_url).wait(lambda: browser.current_url == f"{service_url}/docs#schema-Situation")
    shape = browser.find_element(By.ID, "schema-Situation")
    shape.find_element(By.TAG_NAME, "summary").click()
    assert "moment (required)" in shape.text
    for part in browser.find_elements(By.CSS_SELECTOR, "#listPlayers summary"):
        part.click()
    assert browser.execute_script("return document.documentElement.scrollWidth") <= PHONE[0]
