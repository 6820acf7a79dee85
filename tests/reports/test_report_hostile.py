"""Hostile visits: anything spoken, typed or named appears only as text."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import soundfile

from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.clip_files import store_clip
from handsfree.journal.writer import Journal
from handsfree.reports.embedded_sound import InlineSound, LinkedSound, NoSound
from handsfree.reports.report_html import report_html
from handsfree.visit_record.load import load_record

from ..browser import address_of, page_at
from ..journal.examples import OPENED, READING, SHEET

AT = datetime(2026, 3, 4, tzinfo=UTC)
EVIL = (
    "</script><script>window.struck=1</script>",
    "<img src=x onerror=window.struck=1>",
    "\"'><svg onload=window.struck=1>",
    "javascript:window.struck=1",
    "{{ 7 * 7 }}{% raw %}",
    "\u202e\u0000".replace("\u0000", "\x01") + "<b>",
)


def visit(folder: Path, *bodies: ev.Body, opened: ev.VisitOpened = OPENED) -> Path:
    with Journal.create(folder) as journal:
        journal.append(opened, AT)
        for start in range(0, len(bodies), 1000):
            journal.append_all(bodies[start : start + 1000], AT)
    return folder


def evil_visit(folder: Path) -> Path:
    """A visit with an attack in every place for text."""
    all_evil = " ".join(EVIL)
    opening = SHEET.opening.model_copy(update={"name": all_evil, "seen_from": all_evil})
    sheet = SHEET.model_copy(
        update={
            "reference": all_evil,
            "site": all_evil,
            "technician": all_evil,
            "note": all_evil,
            "opening": opening,
        }
    )
    named = {"sheet": sheet, "procedure": all_evil, "limits": all_evil, "model": all_evil}
    opened = OPENED.model_copy(update={**named, "ears": all_evil, "controller": all_evil})
    return visit(
        folder,
        ev.StepEntered(key=all_evil),
        ev.Said(text=all_evil, role=all_evil, aloud=True, seconds="1"),
        ev.Heard(text=all_evil, meaning=None),
        ev.Heard(text=all_evil, meaning={"kind": "choice", "value": all_evil, "noun": all_evil}),
        ev.Heard(
            text=all_evil,
            meaning={"kind": "fact", "subject": "opening", "name": all_evil, "value": all_evil},
        ),
        ev.Heard(text=all_evil, meaning={"kind": "go_to", "stage": all_evil}),
        ev.Heard(text="a", meaning={"kind": "readings", "readings": [{"value": 7}]}),
        ev.CautionGiven(key=all_evil, text=all_evil, word=all_evil),
        ev.CautionAcknowledged(key=all_evil, word=all_evil),
        ev.FactAccepted(fact=Fact(subject=Subject.OPENING, name=all_evil, value=all_evil)),
        ev.FactsChallenged(why=all_evil),
        ev.ReadingAccepted(reading=READING.model_copy(update={"id": all_evil, "clip": EVIL[2]})),
        ev.NoteKept(step_key=all_evil, text=all_evil, clip=None),
        ev.StepEnded(key=all_evil, outcome="skipped", reason=all_evil, reason_clip=EVIL[1]),
        ev.Fault(what="voice_lost", detail=all_evil),
        office.ReadingStruck(reading_id=all_evil, by=all_evil, why=all_evil),
        office.OpenDecided(key=all_evil, decision="accepted", by=all_evil, why=all_evil),
        office.SignedOff(by=all_evil, head=all_evil),
        opened=opened,
    )


def test_nothing_that_was_spoken_or_typed_runs_or_makes_an_element(browser, tmp_path):
    folder = evil_visit(tmp_path / "visit")
    page_file = tmp_path / "report.html"
    page_file.write_text(report_html(load_record(folder), InlineSound(folder)), encoding="utf-8")
    with page_at(browser, address_of(page_file)) as page:
        page.wait_for_timeout(300)
        assert page.evaluate("window.struck") is None
        assert page.faults == [] and page.asked == [address_of(page_file)]
        assert page.locator("img, main script, main svg[onload]").count() == 0
        assert EVIL[0] in page.locator("h1").inner_text()
        assert "49" not in page.locator("h1").inner_text()


def test_the_page_stays_closed_if_something_did_get_in(browser, tmp_path):
    """The policy of the page holds even where escaping would have failed."""
    folder = visit(tmp_path / "visit")
    html = report_html(load_record(folder), NoSound())
    html = html.replace("<main>", f"<main>{EVIL[0].removeprefix('</script>')}{EVIL[1]}")
    page_file = tmp_path / "report.html"
    page_file.write_text(html, encoding="utf-8")
    with page_at(browser, address_of(page_file)) as page:
        page.wait_for_timeout(300)
        assert page.evaluate("window.struck") is None


def heard(folder: Path, clip: str, content: bytes = b"") -> ev.Heard:
    return ev.Heard(
        text=f"clip {clip}",
        meaning=None,
        start_s="0",
        end_s="1",
        clip=clip,
        clip_sha256=sha256_of(content),
    )


def test_a_clip_s_name_reaches_nothing_outside_the_clips(tmp_path):
    outside = tmp_path / "outside.flac"
    soundfile.write(outside, np.full(16000, 3000, np.int16), 16000, subtype="PCM_16")
    folder = tmp_path / "visit"
    names = ("../outside.flac", "../../outside.flac", str(outside), "..", ".", "", "a\x01b", "/")
    visit(folder, *(heard(folder, name) for name in names))
    seen = load_record(folder)
    page = report_html(seen, InlineSound(folder))
    assert sounds_of(page) == {}
    linked = report_html(seen, LinkedSound(folder, "/sound/visit/"))
    assert sounds_of(linked) == {}
    assert not seen.verification.whole


def test_a_clip_that_is_missing_or_broken_is_shown_as_such_and_the_rest_plays(tmp_path):
    folder = tmp_path / "visit"
    with Journal.create(folder) as journal:
        journal.append(OPENED, AT)
        good, good_hash = store_clip(folder, 2, np.full(8000, 900, np.int16))
        (folder / "clips" / "000003.flac").write_bytes(b"fLaC" + bytes(200))
        (folder / "clips" / "000004.flac").write_bytes(b"")
        for clip in (good, "000003.flac", "000004.flac", "000005.flac"):
            body = heard(folder, clip).model_copy(update={"clip_sha256": good_hash})
            journal.append(body, AT)
        lost = ev.CycleTimed(leaf=Subject.LEFT_LEAF, marks=(), clip="gone.flac", clip_sha256="0")
        journal.append(lost, AT)
    seen = load_record(folder)
    page = report_html(seen, InlineSound(folder))
    assert list(sounds_of(page)) == [good]
    assert page.count("its sound is missing or cannot be played") == 5
    assert "The journal is broken at line 3" in page
    assert "Its sound was not kept, or cannot be read." in page


@pytest.mark.slow
def test_a_clip_of_days_of_silence_is_cut_and_does_not_fill_the_page(tmp_path):
    folder = tmp_path / "visit"
    samples = np.zeros(16000 * 1200, np.int16)
    with Journal.create(folder) as journal:
        journal.append(OPENED, AT)
        clip, clip_hash = store_clip(folder, 2, samples)
        journal.append(heard(folder, clip).model_copy(update={"clip_sha256": clip_hash}), AT)
    sound = InlineSound(folder)
    assert len(sound.samples(clip)) == 16000 * 600
    assert len(report_html(load_record(folder), sound)) < 2_000_000


def test_more_sound_than_there_is_room_for_is_left_out_not_the_page(tmp_path):
    folder = tmp_path / "visit"
    rng = np.random.default_rng(7)
    with Journal.create(folder) as journal:
        journal.append(OPENED, AT)
        for seq in range(2, 8):
            clip, clip_hash = store_clip(folder, seq, rng.integers(-9000, 9000, 32000, np.int16))
            body = heard(folder, clip).model_copy(update={"clip_sha256": clip_hash})
            journal.append(body, AT)
    sound = InlineSound(folder, room=30_000)
    page = report_html(load_record(folder), sound)
    kept = sounds_of(page)
    assert 0 < len(kept) < 6 and sum(map(len, kept.values())) < 30_000 * 1.4
    assert len(page) < 200_000


@pytest.mark.parametrize(
    "value", ["0", "-5", "1E+400", "0.000000000000001", "99999999999999999999"]
)
def test_absurd_values_are_drawn_without_breaking_anything(tmp_path, value):
    reading = READING.model_copy(update={"value": READING.value.__class__(value)})
    folder = visit(tmp_path / "visit", ev.ReadingAccepted(reading=reading))
    page = report_html(load_record(folder), NoSound())
    for svg in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
        drawn = ElementTree.fromstring(svg)
        numbers = [v for e in drawn.iter() for k, v in e.items() if k in ("cx", "x", "width")]
        assert all(abs(float(number)) < 2000 for number in numbers)


def test_a_unit_that_does_not_fit_is_shown_and_judged_by_nobody(tmp_path):
    reading = READING.model_copy(update={"unit": Unit.POUND})
    folder = visit(tmp_path / "visit", ev.ReadingAccepted(reading=reading))
    seen = load_record(folder)
    assert seen.readings[0].doubt.score == 1.0
    assert "6.20 lb" in report_html(seen, NoSound())


@pytest.mark.slow
def test_ten_thousand_events_make_a_page(tmp_path):
    """A hundred thousand do too: tests/bench/office.py."""
    folder = visit(tmp_path / "visit", *many(2000))
    page = report_html(load_record(folder), NoSound())
    assert "2000 readings" in page and page.count("Mind the gap.") == 2000


def many(rounds: int) -> list[ev.Body]:
    """Five events a round, with a reading and a caution each."""
    bodies: list[ev.Body] = []
    for nth in range(rounds):
        bodies += [
            ev.Heard(text=f"word {nth}", meaning={"kind": "reading", "value": str(nth)}),
            ev.ReadingAccepted(reading=READING.model_copy(update={"id": f"r{nth}", "run": nth})),
            ev.Said(text="Filed.", role="finding", aloud=True, seconds="0"),
            ev.StepEntered(key=f"step-{nth}"),
            ev.CautionGiven(key=f"step-{nth}", text="Mind the gap.", word="clear"),
        ]
    return bodies


def sounds_of(page: str) -> dict[str, str]:
    found = re.search(r'id="sounds">(.*?)</script>', page, re.DOTALL)
    assert found is not None
    return json.loads(found[1])
