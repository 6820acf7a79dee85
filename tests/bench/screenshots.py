"""Takes the pictures of the docs, from a visit made for this purpose.

    python -m tests.bench.screenshots            # into docs/pictures
    python -m tests.bench.screenshots --out DIR

Needs Chromium. The job, the building and the people are invented.
"""

from __future__ import annotations

import argparse
import tempfile
from concurrent.futures import Future
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple
from urllib.parse import quote

from handsfree.clock import SystemClock
from handsfree.daily.walk import DailyWalk
from handsfree.job_file.loader import parse_sheet
from handsfree.journal.head_file import read_head
from handsfree.journal.office_events import draw, sample_size
from handsfree.office.apply_change import make_change
from handsfree.office.changes import Change, Confirm, DrawSample
from handsfree.office.review_plan import review_plan
from handsfree.office.visit_folders import id_of
from handsfree.reports.embedded_sound import InlineSound
from handsfree.reports.report_html import report_html
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.second_ear.port import FakeSecondEar
from handsfree.visit_record.load import load_record

from ..browser import address_of, chromium, page_at, until
from ..daily.house import page_of
from ..daily.test_walk import KNOWN
from ..ledger.visits import BEGAN, FAILING, IN_ORDER, small_visit
from ..office.clean_visit import clean_visit
from ..office.house import office_at
from ..reports.hour import NOTES
from ..reports.storied import storied_visit

if TYPE_CHECKING:
    from handsfree.second_ear.port import Samples

PICTURES = Path(__file__).parents[2] / "docs" / "pictures"


class Picture(NamedTuple):
    """A picture of the page: its name, the element at its top, and the view."""

    name: str
    top: str | None
    width: int
    height: int
    dark: bool = False
    paper: bool = False
    plays: str | None = None
    opens: str | None = None


REPORT = (
    Picture("report-desktop", None, 1180, 840),
    Picture("report-charts-dark", "#charts", 1180, 760, dark=True),
    Picture("report-phone", None, 390, 844),
    Picture("report-readings-phone", "#reading-r14", 390, 844, opens="#readings"),
    Picture("report-line", "#line-365", 1180, 620, plays="#line-365 button.play", opens="#line"),
    Picture("report-runs", "#runs", 1180, 560, opens="#runs"),
    Picture("report-paper", None, 794, 1123, paper=True),
)


OFFICE = (
    ("", Picture("office-list", None, 1180, 700)),
    ("", Picture("office-list-phone-dark", None, 390, 844, dark=True)),
    ("{visit}", Picture("office-visit", None, 1180, 760)),
    ("{visit}", Picture("office-decide", "#matters", 1180, 620)),
    ("{visit}", Picture("office-sign", "#sign-off", 1180, 560)),
    ("{visit}/listen", Picture("office-listen", None, 1180, 700)),
    ("{visit}/listen", Picture("office-listen-phone", None, 390, 844)),
    ("visit/{clean}/listen", Picture("office-together", None, 1180, 720)),
    ("{visit}", Picture("office-note", "#notes", 1180, 420)),
    ("{visit}/change/reading/31", Picture("office-correct", None, 1180, 760, dark=True)),
)
"""Addresses in the office, and the picture taken at each."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, default=PICTURES)
    out: Path = parser.parse_args().out
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        visit = storied_visit(Path(folder) / "visit", reviewed=True)
        report = Path(folder) / "report.html"
        report.write_text(report_html(load_record(visit), InlineSound(visit)), encoding="utf-8")
        for picture in REPORT:
            take(browser, address_of(report), picture, out)
        office(browser, Path(folder), out)
        daily(browser, Path(folder), out)


def daily(browser: object, folder: Path, out: Path) -> None:
    """Takes the first question of a daily walk on a phone."""
    job = parse_sheet(f'[job]\nsite = "Harbour Hall"\n{KNOWN}', "lobby.job.toml")
    walk = DailyWalk(job, lambda: folder / "walk")
    walk.begin("Dana Ruiz")
    with page_of(walk) as address:
        take(browser, address, Picture("daily", None, 390, 660), out)


def office(browser: object, folder: Path, out: Path) -> None:
    """Takes pictures of the office with a few visits, one of them straight from the ladder."""
    root = folder / "visits"
    storied_visit(root / "harbour")
    for nth, (site, name) in enumerate((("Clinic", "west door"), ("Library", "foyer"))):
        for year, readings in enumerate((FAILING, IN_ORDER)):
            small_visit(
                root / f"{nth}-{year}",
                site=site,
                name=name,
                reference=f"S-{nth}{year}",
                technician="J. Lind",
                began=BEGAN - timedelta(days=500 - 360 * year - nth),
                readings=(*readings, ("next_service", "12")),
            )
    _listened(clean_visit(root / "clean"))
    with office_at(root, clock=_LaterClock(), ear=lambda _: _Ear(())) as (address, _):
        for where, picture in OFFICE:
            there = where.format(visit=f"visit/{id_of('harbour')}", clean=id_of("clean"))
            take(browser, f"{address}/{there}", picture, out, by="A. Okoro")


class _Ear(FakeSecondEar):
    """A second ear that recognizes the note and the reason of the visit by their length."""

    def begin(self, samples: Samples) -> Future[str]:
        """Returns the words of the longer one or of the shorter one."""
        heard: Future[str] = Future()
        long = len(samples) > 5 * SAMPLE_RATE_HZ
        heard.set_result(f"{NOTES[0]}." if long else "The guard wants the door open now.")
        return heard


class _LaterClock(SystemClock):
    """A clock that is a fortnight after the visits."""

    def utc(self) -> datetime:
        """The time of day."""
        return BEGAN + timedelta(days=14)


def _listened(folder: Path) -> None:
    """Draws the sample of a visit and listens to it."""
    plan = review_plan(load_record(folder))
    changes: list[Change] = [DrawSample(seed="417")]
    drawn = draw([item.id for item in plan.undrawn], "417")[: sample_size(len(plan.undrawn))]
    changes += [Confirm(reading_id=each) for each in drawn]
    for change in changes:
        head = read_head(folder)
        assert head is not None
        make_change(folder, change, "A. Okoro", head.sha256, _LaterClock())


def take(browser: object, address: str, picture: Picture, out: Path, by: str = "") -> None:
    """Takes one picture of a page as PNG; ``by`` is the name that the user has entered."""
    size = {"width": picture.width, "height": picture.height}
    with page_at(browser, address, **size, dark=picture.dark) as page:
        if by:
            cookie = {"name": "handsfree-name", "value": quote(by), "url": address}
            page.context.add_cookies([cookie])
            page.goto(address)
        if picture.paper:
            page.emulate_media(media="print")
        if picture.opens is not None:
            page.locator(picture.opens).click()
        if picture.top is not None:
            page.evaluate(
                "(at) => document.querySelector(at).scrollIntoView({behavior: 'instant'})",
                picture.top,
            )
        if picture.plays is not None:
            page.locator(picture.plays).click()
        until(page, "[...document.querySelectorAll('[data-ear]')].every((a) => a.value)")
        page.wait_for_timeout(400)
        path = out / f"{picture.name}.png"
        page.screenshot(path=path)
        print(f"{path}: {path.stat().st_size // 1024} kB")


if __name__ == "__main__":
    main()
