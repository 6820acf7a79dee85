"""The app in headless Chromium at a phone's viewport."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from ..browser import CHROMIUM

VIEWPORT = {"width": 390, "height": 844}
WAIT_S = 300.0


@contextmanager
def phone(*arguments: str, locale: str = "en-US") -> Iterator[Any]:
    """A browser context like a phone's; ``arguments`` are additional switches of the browser."""
    if CHROMIUM is None:
        pytest.skip("no chromium here: apt-get install chromium")
    playwright = pytest.importorskip("playwright.sync_api", reason="pip install playwright")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", *arguments]
        )
        context = browser.new_context(viewport=VIEWPORT, locale=locale, has_touch=True)
        yield context
        browser.close()


def opened(context: Any, address: str) -> Any:
    """The app's page once Python runs in it; ``asked`` and ``faults`` as in tests.browser."""
    page = context.new_page()
    page.asked, page.faults = [], []
    page.on("request", lambda request: page.asked.append(request.url))
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on("console", lambda line: page.faults.append(line.text) if line.type == "error" else None)
    page.goto(address)
    until(page, "!document.getElementById('begin').disabled")
    return page


def until(page: Any, condition: str, seconds: float = WAIT_S) -> None:
    """Waits until an expression is true; the page's policy forbids playwright's own way."""
    end_s = time.monotonic() + seconds
    while not page.evaluate(condition):
        if time.monotonic() > end_s:
            shown = page.evaluate("document.body.innerText")
            pytest.fail(f"never true: {condition}\n{page.faults}\n{shown}")
        time.sleep(0.02)


def begin(page: Any) -> None:
    """Begins the visit of the invented job."""
    page.click("#begin")
    until(page, "!document.getElementById('visit').hidden")


def resume(page: Any) -> None:
    """Continues the newest visit."""
    page.click("#list .go")
    until(page, "!document.getElementById('visit').hidden")


def say(page: Any, line: str) -> None:
    """Types a line and waits for its answer."""
    before = page.evaluate("document.body.dataset.turn")
    send(page, line)
    until(page, f"document.body.dataset.turn !== '{before}'")


def send(page: Any, line: str) -> None:
    """Types a line and waits for nothing."""
    page.fill("#line", line)
    page.press("#line", "Enter")


def saved_pack(page: Any, folder: Path) -> Path:
    """The pack of the open visit, as saved by the phone."""
    with page.expect_download() as download:
        page.click("#save")
    file = folder / str(download.value.suggested_filename)
    download.value.save_as(file)
    return file
