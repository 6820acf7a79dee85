"""The office in a real browser: every button, by mouse and by keyboard alone, heard and seen."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from handsfree.journal import office_events as acts
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from handsfree.office.sign_off_blockers import to_confirm
from handsfree.visit_record.load import load_record

from ..browser import is_true, page_at, until, violations
from ..reports.test_report_hostile import EVIL, evil_visit
from .house import Desk, office_at


def bodies(visits, kind):
    found = [event.body for event in read(visits / "harbour")]
    return [body for body in found if isinstance(body, kind)]


def name_oneself(page, name="A. Okoro"):
    page.get_by_role("link", name="Say who you are").click()
    page.get_by_label("Your name").fill(name)
    page.get_by_role("button", name="That is me").click()


@pytest.mark.slow
def test_a_visit_is_reviewed_with_the_mouse(browser, house, visits):
    with page_at(browser, house) as page:
        name_oneself(page)
        page.get_by_role("link", name="entrance").click()
        assert "Not in order" in page.locator(".verdict").inner_text()
        page.locator("#line").click()
        page.locator("#line-365 button.play, .lines button.play").first.click()
        until(page, "[...document.querySelectorAll('audio')].some((a) => a.currentTime > 0.1)")

        page.locator("#reading-r31 a.correct").click()
        page.get_by_label("It is").fill("4.5")
        page.locator("form", has=page.get_by_role("heading", name="Correct it")).get_by_label(
            "Why"
        ).fill("so it is heard")
        page.get_by_role("button", name="Correct").click()
        assert page.url.endswith("#reading-r31")
        assert "was 4.4 s, corrected to 4.5 s by A. Okoro" in page.locator("main").inner_text()

        page.locator("#reading-r40 a.correct").click()
        page.locator("form", has=page.get_by_role("heading", name="Strike it out")).get_by_label(
            "Why"
        ).fill("the same one twice")
        page.get_by_role("button", name="Strike out").click()

        page.locator("#reading-r1 a.correct").click()
        page.get_by_role("button", name="Confirm").click()

        page.locator(".notes a.correct").first.click()
        page.get_by_label("What it says").fill("A new pivot is wanted.")
        page.get_by_role("button", name="Write it down").click()
        assert "A new pivot is wanted." in page.locator(".notes").first.inner_text()

        page.locator("#line").click()
        page.locator(".lines a.correct").first.click()
        page.get_by_label("What it was, in words").fill("a passer-by")
        page.get_by_role("button", name="Say what it was").click()
        until(page, "document.querySelector('#line-5')?.closest('details').open")
        assert "a passer-by" in page.locator(f"#{page.url.partition('#')[2]}").inner_text()

        page.locator(".observed a.correct").first.click()
        chosen = page.get_by_label("It is")
        other = next(
            o.get_attribute("value")
            for o in chosen.locator("option").all()
            if not o.evaluate("o => o.selected")
        )
        chosen.select_option(other)
        page.get_by_label("Why").fill("seen on the picture")
        page.get_by_role("button", name="Correct").click()

        while page.locator(".matters form.act:visible").count():
            form = page.locator(".matters form.act:visible").first
            form.get_by_label("Why").fill("next week")
            form.get_by_role("radio").first.check()
            form.get_by_role("button", name="Decide").click()
        page.get_by_role("link", name="Sign off", exact=True).click()
        assert "Before it can be signed off" in page.locator("#sign-off").inner_text()
        assert page.get_by_role("button", name="Sign off").count() == 0

        page.get_by_role("link", name="All visits").click()
        page.get_by_label("Opening, site").fill("nowhere")
        page.get_by_role("button", name="Search").click()
        assert "No visit is like that" in page.locator("main").inner_text()
        page.get_by_role("link", name="All visits").last.click()
        for words in ("Not in order", "Not signed off", "Due this month", "All"):
            page.locator(".filters").get_by_role("link", name=words).first.click()
            assert page.locator(".filters a[aria-current]").inner_text().startswith(words)
        page.get_by_role("link", name="Another name").click()
        page.get_by_label("Your name").fill("J. Lind")
        page.get_by_role("button", name="That is me").click()
        assert "You are J. Lind" in page.locator(".who-works").inner_text()
        assert page.faults == []
        assert all(address.startswith(house) for address in page.asked)
    assert [b.by for b in bodies(visits, acts.ReadingAmended)] == ["A. Okoro"]
    assert len(bodies(visits, acts.ReadingStruck)) == 1
    assert len(bodies(visits, acts.NoteAmended)) == 1
    assert len(bodies(visits, acts.MeaningAmended)) == 1
    assert len(bodies(visits, acts.FactAmended)) == 1
    assert len(bodies(visits, acts.OpenDecided)) >= 2
    assert verify(visits / "harbour").whole


@pytest.mark.slow
def test_every_reading_is_confirmed_by_keyboard_alone_and_the_visit_signed(browser, house, visits):
    """Space, Enter, a digit, S: no mouse. How long it takes: tests/bench/office_listen.py."""
    most_doubtful = [item.id for item in to_confirm(load_record(visits / "harbour"))]
    with page_at(browser, house) as page:
        keys = page.keyboard
        _tab_to(page, "Say who you are")
        keys.press("Enter")
        until(page, "document.activeElement?.name === 'by'")
        keys.type("A. Okoro")
        keys.press("Enter")
        until(page, "!!document.querySelector('.visits')")
        _tab_to(page, "entrance")
        keys.press("Enter")
        until(page, "!!document.querySelector('.verdict')")
        _tab_to(page, "Listen and confirm")
        keys.press("Enter")
        until(page, "document.querySelectorAll('.card:not([hidden])').length === 1")
        assert (
            page.locator(".card:not([hidden]) h2 small").inner_text().startswith(most_doubtful[0])
        )

        at = "document.querySelector('.card:not([hidden]) h2 small').textContent.split(',')[0]"
        until(page, "document.activeElement?.classList.contains('card')")
        keys.press("Space")
        until(page, "[...document.querySelectorAll('audio')].some((a) => a.currentTime > 0.2)")
        keys.press("Space")
        until(page, "[...document.querySelectorAll('audio')].every((a) => a.paused)")
        keys.press("ArrowRight")
        until(page, f"{at} === '{most_doubtful[1]}'")
        keys.press("ArrowLeft")
        until(page, f"{at} === '{most_doubtful[0]}'")

        keys.press("s")
        until(page, "document.activeElement?.name === 'why'")
        keys.press("Escape")
        until(page, "document.activeElement?.classList.contains('card')")

        # One value is corrected: digits open the field and stand in it.
        first = load_record(visits / "harbour").reading(most_doubtful[0])
        wrong = first.now.value + first.now.value.__class__("0.1")
        keys.type(str(wrong))
        until(page, f"document.activeElement?.value === '{wrong}'")
        keys.press("Enter")
        until(page, f"{at} === '{most_doubtful[1]}'")

        for nth, reading_id in enumerate(most_doubtful[1:], start=2):
            until(page, f"{at} === '{reading_id}'")
            keys.press("Enter")
            left = len(most_doubtful) - nth
            until(page, f"parseInt(document.querySelector('.at-nth').textContent) === {left}")
        until(page, "document.activeElement?.classList.contains('done')")
        page.wait_for_timeout(100)
        assert page.faults == []

        _tab_to(page, "Back to the visit")
        keys.press("Enter")
        until(page, "!!document.querySelector('.verdict')")
        for _ in load_record(visits / "harbour").undecided:
            _tab_to(page, "Decide (", within=True)
            keys.press("Enter")
            _tab_until(page, "document.activeElement?.name === 'decision'")
            keys.press("Space")
            keys.press("Tab")
            keys.type("next week")
            before = page.locator("input[name=head]").first.input_value()
            keys.press("Enter")
            until(page, f"document.querySelector('input[name=head]').value !== '{before}'")
        _tab_until(
            page,
            "document.activeElement?.textContent.trim() === 'Sign off' && "
            "document.activeElement?.tagName === 'BUTTON'",
        )
        keys.press("Enter")
        until(
            page,
            "document.querySelector('#sign-off').closest('section').innerText"
            ".includes('Nothing has changed')",
        )
        assert "Nothing has changed since" in page.locator("#sign-off").inner_text()
        assert page.faults == []
    seen = load_record(visits / "harbour")
    assert seen.signed and seen.sign_off.by == "A. Okoro"
    assert len(bodies(visits, acts.ReadingConfirmed)) == len(most_doubtful) - 1
    assert str(seen.reading(most_doubtful[0]).now.value) == str(wrong)


def _tab_to(page, words, within=False):
    """Presses Tab until a link with these words has the focus."""
    if words == "entrance":
        _tab_until(page, "document.activeElement?.matches('.visits a')")
        return
    how = "includes" if within else "startsWith"
    text = f"document.activeElement?.textContent.trim().{how}({words!r})"
    _tab_until(page, f"{text} && document.activeElement?.tagName === 'A'")


def _tab_until(page, condition, most=400):
    for _ in range(most):
        page.keyboard.press("Tab")
        if is_true(page, condition):
            return
    pytest.fail(f"the Tab key never comes to: {condition}")


def test_it_works_without_the_script(browser, house, visits):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{house}{Desk(house).visit()}/listen")
    page.locator("form.confirm button").first.click()
    page.get_by_label("Your name").fill("J. Lind")
    page.get_by_role("button", name="That is me").click()
    assert page.url.endswith("/listen")
    assert [b.by for b in bodies(visits, acts.ReadingConfirmed)] == ["J. Lind"]
    context.close()


@pytest.mark.slow
def test_a_journal_that_is_being_written_is_told_beside_the_reading(browser, house, visits):
    visit = Desk(house).visit()
    with page_at(browser, house) as page:
        name_oneself(page)
        page.goto(f"{house}{visit}/listen")
        journal = Journal.open(visits / "harbour", datetime(2100, 1, 1, tzinfo=UTC))
        try:
            page.keyboard.press("Enter")
            until(page, "!!document.querySelector('.card:not([hidden]) .wrong-here:not([hidden])')")
        finally:
            journal.close()
        told = page.locator(".card:not([hidden]) .wrong-here").inner_text()
        assert "being written just now" in told
        page.keyboard.press("Enter")
        until(page, "document.querySelector('.at-nth').textContent.startsWith('41')")


@pytest.mark.slow
def test_two_windows_and_neither_loses(browser, house, visits):
    visit = Desk(house).visit()
    with page_at(browser, house) as one, page_at(browser, house) as two:
        for page, name in ((one, "A. Okoro"), (two, "J. Lind")):
            name_oneself(page, name)
            page.goto(f"{house}{visit}/change/reading/31")
        for page, value in ((one, "4.5"), (two, "4.6")):
            page.get_by_label("It is").fill(value)
            page.locator("form", has=page.locator("input[value=amend]")).get_by_label("Why").fill(
                f"heard {value}"
            )
            page.get_by_role("button", name="Correct").click()
        assert "Somebody was there first" in two.locator("h1").inner_text()
        assert "A. Okoro" in two.locator("main").inner_text()
        two.get_by_role("button", name="Do it all the same").click()
        text = two.locator("main").inner_text()
        assert "by A. Okoro" in text and "by J. Lind" in text
    assert [str(b.new) for b in bodies(visits, acts.ReadingAmended)] == ["4.5 s", "4.6 s"]


@pytest.mark.slow
@pytest.mark.parametrize(("width", "dark"), [(1280, False), (390, True)])
def test_axe_finds_nothing_wrong_on_any_page(browser, house, width, dark):
    desk = Desk(house)
    visit = desk.visit()
    paths = ["/", visit, f"{visit}/listen", f"{visit}/change/reading/1", "/name", "/nothing"]
    with page_at(browser, house, width=width, dark=dark) as page:
        name_oneself(page)
        for path in paths:
            page.goto(f"{house}{path}")
            assert violations(page) == [], path


@pytest.mark.parametrize("width", [320, 768])
def test_nothing_runs_over_the_edge(browser, house, width):
    visit = Desk(house).visit()
    with page_at(browser, house, width=width) as page:
        for path in ("/", visit, f"{visit}/listen", f"{visit}/change/reading/1", "/name"):
            page.goto(f"{house}{path}")
            assert page.evaluate("document.documentElement.scrollWidth") <= width, path


def test_on_paper_the_controls_are_gone(browser, house):
    visit = Desk(house).visit()
    with page_at(browser, f"{house}{visit}") as page:
        page.emulate_media(media="print")
        for control in (".desk", "a.correct", "form.act"):
            assert page.locator(f"{control}:visible").count() == 0, control
        assert page.locator(".verdict:visible").count() == 1


def test_nothing_that_was_spoken_or_named_runs_in_the_office(browser, tmp_path):
    root = tmp_path / "visits"
    evil_visit(root / "<img src=x onerror=window.struck=1>")
    with office_at(root) as (address, _), page_at(browser, address) as page:
        visit = Desk(address).visit()
        name_oneself(page, "<b onclick=window.struck=1>Lind")
        seen = load_record(root / "<img src=x onerror=window.struck=1>")
        forms = [f"{visit}/change/meaning/{u.seq}" for u in seen.utterances[:2]]
        forms += [f"{visit}/change/note/{n.seq}" for n in seen.notes]
        forms += [f"{visit}/change/fact/{f.seq}" for f in seen.facts]
        for path in ("/", visit, f"{visit}/listen", *forms):
            page.goto(f"{address}{path}")
            page.wait_for_timeout(150)
            assert page.evaluate("window.struck") is None, path
            assert page.locator("main img, main svg[onload], b[onclick]").count() == 0, path
            assert page.faults == [], path
        assert EVIL[0] in page.content() or "script" in page.locator("main").inner_text()
