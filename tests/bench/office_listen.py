"""Listens and confirms by keyboard, as fast as possible without skipping any sound."""

from __future__ import annotations

import time
from pathlib import Path
from statistics import median, quantiles
from typing import Any

from ..browser import chromium, page_at, until
from ..office.house import Desk, office_at
from ..reports.storied import storied_visit

SOUND = "document.querySelector('.card:not([hidden]) audio')"
HEARD = f"(a => !a || a.ended || (a.paused && a.currentTime > 0.2))({SOUND})"


def listen(folder: Path) -> dict[str, Any]:
    """Plays the doubtful readings and the sample to their end and confirms them: seconds for each.

    The others are confirmed together.
    """
    storied_visit(folder / "visits" / "one")
    took_s = []
    with office_at(folder / "visits") as (address, _), chromium() as browser:
        visit = Desk(address).visit()
        with page_at(browser, address) as page:
            name = {"name": "handsfree-name", "value": "A.%20Okoro", "url": address}
            page.context.add_cookies([name])
            page.goto(f"{address}{visit}")
            page.get_by_role("button", name="Listen and confirm").first.click()  # draws the sample
            until(page, "!!document.querySelector('.card:not([hidden])')")
            left = int(page.locator(".at-nth").inner_text().split()[0])
            page.keyboard.press("Space")
            while left:
                begin = time.perf_counter()
                until(page, HEARD, 60)
                page.keyboard.press("Enter")
                left -= 1
                until(page, f"parseInt(document.querySelector('.at-nth').textContent) === {left}")
                took_s.append(time.perf_counter() - begin)
            until(page, "document.activeElement?.textContent.includes('together')")
            together = int(page.evaluate("document.activeElement.textContent").split()[1])
            page.keyboard.press("Enter")
            until(page, "!!document.querySelector('.done:not([hidden]) > p > a')")
    result = {
        "listened_to": len(took_s),
        "confirmed_together": together,
        "median_s": round(median(took_s), 2),
        "p95_s": round(quantiles(took_s, n=20)[18], 2),
        "longest_s": round(max(took_s), 2),
    }
    print(result)
    return result
