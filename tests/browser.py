"""A real browser for tests: Debian's Chromium, without a window, driven by playwright.

A test that needs it is skipped with a clear line if it is missing.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


@contextmanager
def chromium() -> Iterator[Any]:
    """The browser as a playwright object. Sound plays without a device."""
    if CHROMIUM is None:
        pytest.skip("no chromium here: apt-get install chromium")
    playwright = pytest.importorskip("playwright.sync_api", reason="pip install playwright")
    with playwright.sync_playwright() as driver:
        # As root a browser has no sandbox, but the pages are our own.
        browser = driver.chromium.launch(
            executable_path=CHROMIUM,
            args=["--no-sandbox", "--autoplay-policy=no-user-gesture-required"],
        )
        yield browser
        browser.close()


@contextmanager
def page_at(
    browser: Any, address: str, *, width: int = 1280, height: int = 900, dark: bool = False
) -> Iterator[Any]:
    """A new page, with ``page.asked`` (every address requested) and ``page.faults``."""
    context = browser.new_context(
        viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light"
    )
    page = context.new_page()
    page.asked, page.faults = [], []
    page.on("request", lambda request: page.asked.append(request.url))
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on("console", lambda line: page.faults.append(line.text) if line.type == "error" else None)
    page.on("dialog", lambda dialog: (page.faults.append(dialog.message), dialog.dismiss()))
    page.goto(address)
    yield page
    context.close()


def violations(page: Any) -> list[str]:
    """Lists the accessibility violations that axe-core finds in a page."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="pip install it")
    found = axe.Axe().run(page).response["violations"]
    return [
        f"{rule['id']}: {node['html'][:120]} {node.get('failureSummary', '')[:200]}"
        for rule in found
        for node in rule["nodes"][:3]
    ]


def until(page: Any, condition: str, seconds: float = 10) -> None:
    """Waits until an expression is true; the policy of a page forbids playwright's own way."""
    for _ in range(int(seconds / 0.05)):
        if is_true(page, condition):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never true: {condition}")


def is_true(page: Any, condition: str) -> bool:
    """True if an expression is true; False while a page is left or still loading."""
    from playwright.sync_api import Error

    try:
        return bool(page.evaluate(f"document.readyState !== 'loading' && ({condition})"))
    except Error as error:
        if "context was destroyed" not in str(error):
            raise
        page.wait_for_load_state()
        return False


def address_of(path: Path) -> str:
    return path.resolve().as_uri()
