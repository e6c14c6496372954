"""Chromium without a window, and what a test tells it of screen, colours and network."""

import json
import shutil
from pathlib import Path
from typing import Any

from selenium.webdriver import Chrome, ChromeOptions
from selenium.webdriver.chrome.service import Service

PHONE, TABLET, DESKTOP = (360, 640), (768, 1024), (1280, 800)
SWITCHES = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-dev-shm-usage",
    "--disable-sync",
    "--no-first-run",
    "--no-default-browser-check",
)
TOLD = {"goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"}}
NEEDED = "browser tests need chromium and chromedriver (on Debian: chromium, chromium-driver)"


def started(folder: Path) -> Chrome:
    """A Chromium with its profile in this empty folder. Raises RuntimeError where it is not installed."""
    program, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if program is None or driver is None:
        raise RuntimeError(NEEDED)
    options = ChromeOptions()
    options.binary_location = program
    for switch in (*SWITCHES, f"--user-data-dir={folder}"):
        options.add_argument(switch)
    for name, value in TOLD.items():
        options.set_capability(name, value)
    return Chrome(options=options, service=Service(executable_path=driver))


def forget_all(browser: Chrome, origin: str) -> None:
    """Make the browser as new: a blank page, nothing stored of the origin, nothing logged, online, a light phone."""
    browser.get("about:blank")
    browser.execute_cdp_cmd("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "all"})
    browser.execute_cdp_cmd("Network.enable", {})
    set_online(browser, True)
    set_scheme(browser, "light")
    set_screen(browser, *PHONE)
    complaints(browser)
    requested(browser)


def set_online(browser: Chrome, online: bool) -> None:
    """Connect the page to the network, or cut it off."""
    conditions = {"offline": not online, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    browser.execute_cdp_cmd("Network.emulateNetworkConditions", conditions)


def set_screen(browser: Chrome, width: int, height: int) -> None:
    """Give the page a screen of so many CSS pixels."""
    screen = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)


def set_scheme(browser: Chrome, scheme: str, motion: str = "no-preference") -> None:
    """Let the page believe that its reader prefers light or dark, and perhaps that nothing moves (reduce)."""
    features = [{"name": "prefers-color-scheme", "value": scheme}, {"name": "prefers-reduced-motion", "value": motion}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": features})


def requested(browser: Chrome) -> list[str]:
    """The address of every request since the last time this was asked."""
    told = (json.loads(line["message"])["message"] for line in browser.get_log("performance"))
    return [m["params"]["request"]["url"] for m in told if m["method"] == "Network.requestWillBeSent"]


def complaints(browser: Chrome) -> list[Any]:
    """What the console holds of warnings and errors since the last time this was asked."""
    return [line["message"] for line in browser.get_log("browser") if line["level"] in ("WARNING", "SEVERE")]
