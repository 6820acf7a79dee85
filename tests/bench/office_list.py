"""Measures the office's list of many visits in a real browser: first screen, filters, search,
memory.

The visits are small (a few readings, no sound), at invented openings.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from statistics import median
from typing import Any

from handsfree.office.app import Office, OfficeSetup
from handsfree.office.pages import FILTERS

from ..browser import chromium, page_at, until
from ..ledger.visits import BEGAN, FAILING, IN_ORDER, small_visit
from ..office.house import office_at

VISITS = 10_000
SITES = ("Harbour Hall", "Station", "Library", "Clinic", "College", "Market", "Museum", "Mill")
PAGES = {
    "first screen": "/",
    "filter: not in order": "/?only=not-in-order",
    "filter: not signed off": "/?only=not-reviewed",
    "filter: due this month": "/?only=due",
    "search": "/?q=pivot+clinic",
    "last page": "/?page=200",
    "a page without visits, for comparison": "/name",
}
PAINT = "performance.getEntriesByName('first-contentful-paint')[0].startTime"
PAINTED = "performance.getEntriesByName('first-contentful-paint').length > 0"
LOADED = "performance.getEntriesByType('navigation')[0].loadEventEnd"
FIRST_BYTE = "performance.getEntriesByType('navigation')[0].responseStart"


def visit_list(folder: Path) -> dict[str, Any]:
    """Measures the list of 10,000 visits."""
    make_visits(folder / "visits")
    return measured(folder / "visits", folder / "rows.sqlite")


def make_visits(root: Path) -> None:
    """Makes invented visits to 200 openings."""
    for nth in range(VISITS):
        small_visit(
            root / f"{nth:05}",
            site=f"{SITES[nth % 8]} {nth // 400}",
            name=f"door {nth // 8 % 25}",
            reference=f"V-{nth}",
            technician=("R. Almeda", "J. Lind", "T. Berg")[nth % 3],
            began=BEGAN + timedelta(hours=nth),
            readings=(FAILING if nth % 9 == 0 else IN_ORDER)
            + (("next_service", str(1 + nth % 12)),),
            notes=("the pivot is loose",) if nth % 50 == 0 else (),
        )


def measured(root: Path, kept: Path) -> dict[str, Any]:
    """Measures the list of these visits; ``kept`` is the folder for its rows."""
    result: dict[str, Any] = {"visits": VISITS, "read_first_s": round(_indexed(root, kept), 1)}
    with office_at(root, kept=kept) as (address, office):
        result["known_again_s"] = round(_timed(lambda: _known(office)), 2)
        result["resident_mb"] = _resident_mb()
        with chromium() as browser:
            for name, path in PAGES.items():
                result[name] = _shown(browser, f"{address}{path}")
            result["a visit"] = _shown(browser, f"{address}{_first(browser, address)}")
            result["pressed, until shown"] = _pressed(browser, address)
    for name, value in result.items():
        print(f"{name}: {value}")
    return result


def _indexed(root: Path, kept: Path) -> float:
    """Waits until every visit has its row, at the very first start."""
    office = Office(root, OfficeSetup(kept=kept))
    return _timed(office.index.look) + _timed(office.index.close)


def _known(office: Office) -> None:
    """Looks at the folder again, in which nothing has changed."""
    office.index.look()
    assert len(office.index.rows()) == VISITS


def _shown(browser: Any, address: str) -> dict[str, float]:
    """Returns the times from the request to the first byte, the first paint, and the whole page
    (ms).
    """
    seen = []
    for _ in range(9):
        with page_at(browser, address) as page:
            until(page, f"{PAINTED} && {LOADED} > 0")
            seen.append([page.evaluate(what) for what in (FIRST_BYTE, PAINT, LOADED)])
    columns = list(zip(*seen, strict=True))
    names = ("first byte", "first picture", "all")
    return {f"{n}, ms": round(median(c)) for n, c in zip(names, columns, strict=True)}


def _pressed(browser: Any, address: str) -> dict[str, float]:
    """Returns the time from a press on a filter to its rows, in an open window (ms)."""
    found: dict[str, list[float]] = {}
    with page_at(browser, address) as page:
        for _ in range(9):
            for words in (FILTERS[only] for only in ("not-in-order", "due", "not-reviewed")):
                page.goto(address)
                page.locator(".filters a", has_text=words).first.click(no_wait_after=True)
                page.wait_for_url("**only=**")
                page.wait_for_load_state()
                until(page, PAINTED)
                found.setdefault(words, []).append(page.evaluate(PAINT))
    return {words: round(median(times)) for words, times in found.items()}


def _first(browser: Any, address: str) -> str:
    with page_at(browser, address) as page:
        return str(page.locator(".visits a").first.get_attribute("href"))


def _resident_mb() -> int:
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") // 1_000_000


def _timed(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin
