"""The report's page in a real browser: it opens from disk, plays sound and is accessible."""

from __future__ import annotations

import io
import unicodedata
from collections import Counter

import pytest
from pypdf import PdfReader

from handsfree.reports.embedded_sound import InlineSound, NoSound
from handsfree.reports.report_html import report_html
from handsfree.visit_record.event_words import with_unit
from handsfree.visit_record.load import load_record
from handsfree.visit_record.visit_record import VisitRecord

from ..browser import address_of, page_at, until, violations
from .serviced import serviced

LEFTS = "[...document.querySelectorAll('{}')].map(e => Math.round(e.getBoundingClientRect().left))"
"""Where each of some elements begins, from the left."""


@pytest.fixture(scope="module")
def seen(reviewed) -> VisitRecord:
    return load_record(reviewed)


@pytest.fixture(scope="module")
def address(reviewed, seen, tmp_path_factory) -> str:
    path = tmp_path_factory.mktemp("page") / "report.html"
    path.write_text(report_html(seen, InlineSound(reviewed)), encoding="utf-8")
    return address_of(path)


def unfold(page) -> None:
    """Opens every collapsed part."""
    page.evaluate("for (const part of document.querySelectorAll('details')) part.open = true")


def test_it_opens_from_disk_and_asks_for_nothing_else(browser, address):
    with page_at(browser, address) as page:
        page.wait_for_timeout(200)
        assert page.asked == [address]
        assert page.faults == []


@pytest.mark.slow
@pytest.mark.parametrize(("width", "dark"), [(1280, False), (390, True)])
def test_axe_finds_nothing_wrong(browser, address, width, dark):
    with page_at(browser, address, width=width, dark=dark) as page:
        assert violations(page) == []
        unfold(page)
        assert violations(page) == []


def test_the_verdict_stands_in_the_first_screen_in_plain_words(browser, address):
    for width, height in ((390, 844), (1280, 720)):
        with page_at(browser, address, width=width, height=height) as page:
            verdict = page.locator(".verdict")
            assert "Out of service: operator off and tagged" in verdict.inner_text()
            assert "right leaf: closing force 17 lbf, at most 15 lbf" in verdict.inner_text()
            box = verdict.locator("h2").bounding_box()
            assert box["y"] + box["height"] < height


def test_it_folds_to_what_counts_and_a_link_opens_what_it_names(browser, address):
    with page_at(browser, address) as page:
        folded = page.evaluate("document.documentElement.scrollHeight")
        for shown in (".verdict", ".adjusted", ".chart", ".matters"):
            assert page.locator(shown).first.is_visible()
        readings = page.locator(".readings:not(.adjusted) .row").first
        assert not readings.is_visible() and not page.locator(".lines li").first.is_visible()
        page.get_by_role("link", name="Readings", exact=True).click()
        until(page, "document.getElementById('readings').closest('details').open")
        assert readings.is_visible()
        unfold(page)
        assert folded * 2 < page.evaluate("document.documentElement.scrollHeight")


def test_a_reading_that_an_address_names_is_shown(browser, address):
    with page_at(browser, f"{address}#reading-r14") as page:
        until(page, "document.getElementById('reading-r14').closest('details').open")
        assert page.locator("#reading-r14").is_visible()


@pytest.mark.slow
def test_no_path_of_a_file_and_no_name_of_one_that_has_a_title_is_there(seen, reviewed):
    ears = f"sound {reviewed}/hall.flac"
    opened = seen.opened.model_copy(update={"ears": ears, "controller": "heron"})
    html = report_html(seen.model_copy(update={"opened": opened}), InlineSound(reviewed))
    assert str(reviewed) not in html and "hall.flac" in html
    assert "low-energy power operated swing doors" in html
    assert "Controller replacement, push plate door" in html


@pytest.mark.parametrize("width", [320, 768])
def test_nothing_runs_over_the_edge_of_a_phone(browser, address, width):
    with page_at(browser, address, width=width) as page:
        unfold(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_every_utterance_with_sound_plays(browser, address, seen):
    with page_at(browser, address) as page:
        clips = page.evaluate("JSON.parse(document.getElementById('sounds').textContent)")
        heard = {each.clip for each in seen.utterances}
        assert heard <= clips.keys() and {run.clip for run in seen.runs} <= clips.keys()
        lengths = page.evaluate(
            """async (clips) => Promise.all(Object.values(clips).map((src) => new Promise(
               (done) => {
                 const audio = new Audio();
                 audio.onloadedmetadata = () => done(audio.duration);
                 audio.onerror = () => done(-1);
                 audio.src = src;
               })))""",
            clips,
        )
        told = {each.clip: float(each.seconds) for each in seen.utterances}
        for clip, seconds in zip(clips, lengths, strict=True):
            assert seconds > 0, f"{clip} does not play"
            if clip in told:
                assert seconds == pytest.approx(told[clip], abs=0.02)


def test_a_button_plays_and_play_on_goes_to_the_next(browser, address):
    """Clips take about a second, so what happened is noted by the page itself."""
    with page_at(browser, address) as page:
        unfold(page)
        page.evaluate(
            """() => {
                 window.heard = [];
                 const now = document.querySelector(".player .now");
                 const lit = () => document.querySelector("button.play.on").ariaLabel;
                 const audio = document.querySelector("audio");
                 audio.addEventListener("play", () => heard.push([now.textContent, lit()]));
                 document.querySelector("[data-do=on]").checked = true;
                 document.querySelector(".lines button.play").click();
               }"""
        )
        until(page, "heard.length > 1", 60)
        page.evaluate("document.querySelector('[data-do=on]').checked = false")
        labels = page.evaluate(
            "[...document.querySelectorAll('.lines button.play')].map((b) => b.ariaLabel)"
        )
        played = page.evaluate("heard")
        assert played == [[each.removeprefix("Play "), each] for each in labels[: len(played)]]
        held = """() => {
          const button = [...document.querySelectorAll(".lines button.play")].at(-1);
          const audio = document.querySelector("audio");
          button.click();
          const played = !audio.paused;
          button.click();
          return played && audio.paused;
        }"""
        until(page, "document.querySelector('audio').ended", 60)
        assert page.evaluate(held)
        page.locator("[data-do=close]").click()
        assert page.locator(".player").is_hidden()


def test_the_keyboard_alone_gets_to_a_reading_and_plays_it(browser, address):
    with page_at(browser, address) as page:
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement?.textContent") == "Skip to the readings"
        page.keyboard.press("Enter")
        for _ in range(3):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement?.matches('button.play')"):
                break
        page.keyboard.press("Enter")
        until(page, "document.querySelector('audio').currentTime > 0.1")


def test_the_time_line_can_be_cut_to_what_was_not_understood(browser, address, seen):
    missed = [u for u in seen.utterances if not (u.understood or u.kept_as or u.ignored)]
    with page_at(browser, address) as page:
        unfold(page)
        page.locator("[data-show=missed]").click()
        lines = page.locator(".lines li:visible")
        assert lines.count() == len(missed) > 0
        assert all("not understood" in text for text in lines.all_inner_texts())
        page.locator("[data-show=all]").click()
        assert page.locator(".lines li.said").first.is_visible()


def test_what_the_office_changed_stands_beside_what_was_heard(browser, address):
    with page_at(browser, address) as page:
        unfold(page)
        text = page.locator("main").inner_text()
        assert "was 4.6 s, corrected to 4.5 s by A. Okoro" in text
        assert "somebody asks for the way" in text
        assert "Play at the pivot of the left arm" in text and "heard as “the arm on the" in text
        assert "Signed off by J. Lind" in text
        assert "listened to and confirmed by A. Okoro" in text


def test_it_prints_on_paper_with_every_part(browser, address, seen):
    with page_at(browser, address, dark=True) as page:
        page.emulate_media(media="print", color_scheme="dark")
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == (
            "rgb(255, 255, 255)"
        )
        for hidden in (".player", "button.play", ".tools", "nav"):
            assert not page.locator(hidden).first.is_visible()
        for shown in (".plan", ".chart", ".readings", ".wave svg", ".heard"):
            assert page.locator(shown).first.is_visible()
        assert_whole(page.pdf(format="A4", print_background=True), seen)


def assert_whole(paper: bytes, seen: VisitRecord) -> None:
    """Nothing is lost in print: what is folded on a screen is on paper too, each line and value."""
    read = PdfReader(io.BytesIO(paper))
    text = _squeezed("".join(page.extract_text() for page in read.pages))
    for told in (seen.head, "pushplate", "Timed by ear", "Readings", "The visit, line by line"):
        assert _squeezed(str(told)) in text, told
    heard = [each.heard for each in seen.utterances if each.heard]
    values = [with_unit(each.now.value, each.now.unit) for each in seen.standing]
    cautions, notes = [each.text for each in seen.cautions], [each.now for each in seen.notes]
    assert len(heard) > 100 and len(values) > 30 and cautions and notes
    for told, count in Counter(map(_squeezed, [*heard, *cautions, *notes])).items():
        assert text.count(told) >= count, told
    for told, count in Counter(map(_squeezed, values)).items():
        assert text.count(told) >= count, told


def _squeezed(text: str) -> str:
    """A text without spaces and lines, with ligatures as letters."""
    return "".join(unicodedata.normalize("NFKC", text).split())


def test_without_scripts_everything_can_still_be_read(browser, address, seen):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address)
    assert "playing it needs scripts" in page.locator("body").inner_text()
    assert page.locator(".lines li").count() > 300
    assert_whole(page.pdf(format="A4"), seen)
    context.close()


def test_paper_has_the_line_by_line_in_two_columns(browser, address):
    with page_at(browser, address) as page:
        unfold(page)
        lefts = LEFTS.format(".stretch h3")
        assert len(set(page.evaluate(lefts))) == 1
        page.emulate_media(media="print")
        assert len(set(page.evaluate(lefts))) == 2


def test_the_sign_of_a_fold_stands_beside_its_long_name_on_a_phone(browser, tmp_path):
    path = tmp_path / "report.html"
    path.write_text(report_html(serviced(), NoSound()), encoding="utf-8")
    with page_at(browser, address_of(path), width=390) as page:
        named = page.locator(".fold summary", has_text="what became of them")
        assert named.count() == 1
        head = named.locator("h2").bounding_box()
        assert head["height"] > 30  # its name takes two lines
        assert head["y"] - named.bounding_box()["y"] < 20


def test_what_was_noted_takes_two_columns_at_a_desk_and_one_on_a_phone(browser, tmp_path):
    path = tmp_path / "report.html"
    path.write_text(report_html(serviced(), NoSound()), encoding="utf-8")
    lefts = LEFTS.format(".noted li")
    for width, columns in ((1280, 2), (390, 1)):
        with page_at(browser, address_of(path), width=width) as page:
            assert len(set(page.evaluate(lefts))) == columns
