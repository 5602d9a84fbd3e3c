"""The page in a real browser, at the width of a phone: where none is installed, this says so and is left out."""

from __future__ import annotations

import shutil
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import uvicorn

from diagnose.cases.journal import Journal
from diagnose.serving.app import make_app
from diagnose.serving.kept_cases import KeptCases
from diagnose.serving.listening import hosts_of, listen
from diagnose.serving.visitors import Visitors
from tests.protocol.lamps import lamp_engine

WIDTH, HEIGHT = 360, 740
TOKEN = "0123456789abcdef0123"
LEAST_TARGET = 44
"""Pixels of a target for a thumb (WCAG 2.1, 2.5.5: 44 by 44)."""

PATIENCE = 20.0

pytestmark = pytest.mark.skipif(
    not (shutil.which("chromium") and shutil.which("chromedriver")), reason="chromium and its driver are not installed"
)


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """A server at a real socket; its address with the token."""
    with listen("127.0.0.1", 0) as listening:
        port = listening.getsockname()[1]
        app = make_app(KeptCases(lamp_engine(), tmp_path), Visitors(TOKEN), hosts_of("127.0.0.1", port))
        server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False))
        running = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        running.start()
        try:
            yield f"http://127.0.0.1:{port}/?token={TOKEN}"
        finally:
            server.should_exit = True
            running.join()


@pytest.fixture
def browser() -> Iterator[Any]:
    """A browser without a screen, as wide as a phone."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    for each in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"):
        options.add_argument(each)
    metrics = {"width": WIDTH, "height": HEIGHT, "pixelRatio": 1.0}
    options.add_experimental_option("mobileEmulation", {"deviceMetrics": metrics})
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
    try:
        yield driver
    finally:
        driver.quit()


def _press(browser: Any, words: str) -> None:
    """Press a button and wait for the next page."""
    page = browser.find_element("tag name", "html")
    button = next(each for each in browser.find_elements("tag name", "button") if words in each.text)
    browser.execute_script("arguments[0].scrollIntoView()", button)
    button.click()
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        time.sleep(0.05)
        if browser.execute_script("return document.readyState") == "complete" and _is_gone(page):
            return
    raise AssertionError(f"no other page came after {words}: {_text(browser)}")


def _is_gone(element: Any) -> bool:
    from selenium.common.exceptions import WebDriverException

    try:
        element.is_displayed()
    except WebDriverException:
        return True
    return False


def _text(browser: Any) -> str:
    return str(browser.find_element("tag name", "body").text)


def _fits(browser: Any) -> None:
    """Nothing sticks out at the side, every target is large enough, and the browser has nothing to complain of."""
    assert browser.execute_script("return document.documentElement.scrollWidth") <= WIDTH
    small = browser.execute_script(
        "return [...document.querySelectorAll('button, .button, nav a, textarea, summary')]"
        ".filter(each => each.getClientRects().length && each.getBoundingClientRect().height < arguments[0])"
        ".map(each => each.textContent)",
        LEAST_TARGET,
    )
    assert small == []
    assert browser.get_log("browser") == []


def test_an_interview_from_the_link_to_the_proof(address: str, browser: Any, tmp_path: Path) -> None:
    """With thumbs only but for one sentence; each page fits."""
    browser.get(address)
    assert "token" not in browser.current_url
    browser.find_element("id", "meter").send_keys("lamp 7")
    for words in ("Begin a new case", "lamp is dark", "skilled person"):
        _fits(browser)
        _press(browser, words)
    browser.find_element("id", "words").send_keys("it flickers")
    _press(browser, "Say it")
    assert "lamp flickers" in _text(browser)
    for _ in range(12):
        _fits(browser)
        if "Is anything still wrong?" in _text(browser):
            break
        buttons = [each.text for each in browser.find_elements("css selector", "form .choices button")]
        _press(browser, "That is what I know" if "That is what I know" in _text(browser) else buttons[0])
    assert "Is anything still wrong?" in _text(browser)
    _press(browser, "no, all is well")
    _press(browser, "Leave; everything is kept")
    assert "lamp-7" in _text(browser)
    assert "cured" in _text(browser)
    with Journal.resume(tmp_path, "lamp-7") as journal:
        assert len(journal.entries) > 5


def test_an_answer_given_without_a_connection_arrives_once_it_is_back(
    address: str, browser: Any, tmp_path: Path
) -> None:
    """And once only."""
    browser.get(address)
    _press(browser, "Begin a new case")
    name = browser.current_url.rsplit("/", 1)[1]
    browser.execute_cdp_cmd("Network.enable", {})
    lost = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
    browser.execute_cdp_cmd("Network.emulateNetworkConditions", lost)
    browser.find_element("id", "words").send_keys("it flickers")
    page = browser.find_element("tag name", "html")
    next(each for each in browser.find_elements("tag name", "button") if each.text == "Say it").click()
    time.sleep(0.5)
    assert "No connection. Your answer is kept here" in _text(browser)
    assert Journal.read(tmp_path, name).entries == ()
    back = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    browser.execute_cdp_cmd("Network.emulateNetworkConditions", back)
    until = time.monotonic() + PATIENCE
    while not _is_gone(page) and time.monotonic() < until:
        time.sleep(0.1)
    assert "lamp flickers" in _text(browser)
    told = [each for each in Journal.read(tmp_path, name).entries if type(each.event).__name__ == "TextRead"]
    assert len(told) == 1


def test_a_port_that_is_taken_is_told() -> None:
    """With what to do."""
    from diagnose.errors import BadInput

    with socket.create_server(("127.0.0.1", 0)) as taken, pytest.raises(BadInput, match="try another --host or --port"):
        listen("127.0.0.1", taken.getsockname()[1])
