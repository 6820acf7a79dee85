"""The page that measures a leaf: from a simulated leaf's sensor events to a reading."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from handsfree.job.reading import Taken
from handsfree.journal.reader import verify
from handsfree.phone.build import STATIC
from handsfree.reports.unpack import unpack
from handsfree.visit_record.load import load_record

from .app import served
from .phone_browser import begin, opened, phone, saved_pack, say, until

LOG = Path(__file__).parents[2] / "docs" / "examples" / "even-leaf.csv"
PLAY = """(rows) => {
  for (const [time, beta, gamma, alpha] of rows) {
    const event = new DeviceMotionEvent("devicemotion", { rotationRate: { alpha, beta, gamma } });
    Object.defineProperty(event, "timeStamp", { value: 1000 * time });
    dispatchEvent(event);
  }
}"""
"""Sends the sensor's events to the page with their own times, so that no test waits for a door."""


def rows() -> list[list[float]]:
    """Seconds and rates (degrees a second) as a phone would report them, a tap's time longer."""
    found = []
    for line in LOG.read_text(encoding="utf-8").splitlines()[1:]:
        time_s, *rates = map(float, line.split(","))
        found.append([5.0 + time_s, *(57.29578 * rate for rate in rates)])
    return [*found, *([found[-1][0] + nth / 60, *found[-1][1:]] for nth in range(1, 40))]


@pytest.mark.slow
def test_a_phone_on_the_leaf_measures_it_for_the_visit_on_it(app, tmp_path):
    with served(app) as address, phone() as context:
        visit = opened(context, address)
        begin(visit)
        say(visit, "done")
        say(visit, "clear")
        leaf = context.new_page()
        leaf.faults = visit.faults
        leaf.goto(f"{address}leaf.html")
        until(leaf, "document.body.dataset.ready === 'page'")
        assert leaf.evaluate("document.documentElement.scrollWidth") <= 390
        leaf.click("#go")
        until(leaf, "document.getElementById('go').textContent === 'Stop'")
        leaf.evaluate(PLAY, rows())
        leaf.click("#go")
        until(leaf, "document.querySelector('#visits button') !== null")
        assert leaf.is_hidden("#send")  # nobody here takes it
        leaf.click("#visits button")
        until(leaf, "document.getElementById('told').textContent.startsWith('It is in the visit')")
        say(visit, "measure the left leaf open angle ninety")
        said = visit.inner_text("#said")
        assert "opening time three point eight four" in said, said
        say(visit, "affirm")
        done = unpack(saved_pack(visit, tmp_path), tmp_path / "office")
        assert visit.faults == []
    assert verify(done.folder).whole
    readings = load_record(done.folder).readings
    assert {item.now.taken for item in readings} == {Taken.SENSOR} and len(readings) == 6
    assert (done.folder / "motion" / str(readings[0].now.log)).is_file()


def test_both_languages_of_the_page_have_the_same_words():
    words = json.loads((STATIC / "leaf-words.json").read_text(encoding="utf-8"))
    assert words["en"].keys() == words["es"].keys()
    page = (STATIC / "leaf.html").read_text(encoding="utf-8")
    assert {part.split('"')[0] for part in page.split('data-word="')[1:]} <= words["en"].keys()
