"""The office in a real browser: every button, by mouse and by keyboard alone."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from handsfree.journal import office_events as acts
from handsfree.journal.office_events import sample_size
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from handsfree.office.review_plan import review_plan
from handsfree.visit_record.load import load_record

from ..browser import is_true, page_at, until, violations
from ..reports.test_report_hostile import EVIL, evil_visit
from .clean_visit import clean_visit
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
        page.get_by_role("link", name="HH-0417").click()
        assert "Out of service" in page.locator(".verdict").inner_text()
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

        page.get_by_label("What the note of").fill("A new pivot is wanted.")
        page.locator(".notes").get_by_role("button", name="Save").click()
        assert "A new pivot is wanted." in page.locator(".notes").first.inner_text()
        page.get_by_label("What the reason for skipping cycles").fill("The guard was in a hurry.")
        page.locator(".matters").get_by_role("button", name="Save").click()
        assert "The guard was in a hurry." in page.locator(".matters").first.inner_text()

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

        undecided = page.locator(".matters form.act:visible", has=page.get_by_role("radio"))
        while undecided.count():
            form = undecided.first
            form.get_by_label("Why").fill("next week")
            form.get_by_role("radio").first.check()
            form.get_by_role("button", name="Decide").click()
        page.locator(".decision").get_by_role("link", name="reviewed").click()
        assert "Before it can be signed off" in page.locator("#sign-off").inner_text()
        assert page.get_by_role("button", name="Sign off").count() == 0

        page.get_by_role("link", name="All visits").click()
        page.get_by_label("Opening, site").fill("nowhere")
        page.get_by_role("button", name="Search").click()
        assert "No visit is like that" in page.locator("main").inner_text()
        page.get_by_role("link", name="All visits").last.click()
        for words in ("Not OK", "Not signed off", "Due this month", "All"):
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
    assert len(bodies(visits, acts.NoteAmended)) == 2
    assert len(bodies(visits, acts.MeaningAmended)) == 1
    assert len(bodies(visits, acts.FactAmended)) == 1
    assert len(bodies(visits, acts.OpenDecided)) >= 2
    assert verify(visits / "harbour").whole


@pytest.mark.slow
def test_every_reading_is_confirmed_by_keyboard_alone_and_the_visit_signed(browser, house, visits):
    """Space, Enter, a digit, S: no mouse. How long it takes: tests/bench/office_listen.py."""
    plan = review_plan(load_record(visits / "harbour"))
    sampled = sample_size(len(plan.undrawn))
    most_doubtful = [item.id for item in plan.alone]
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

        listen = len(most_doubtful) + sampled
        for nth in range(2, listen + 1):
            if nth <= len(most_doubtful):
                until(page, f"{at} === '{most_doubtful[nth - 1]}'")
            keys.press("Enter")
            left = f"parseInt(document.querySelector('.at-nth').textContent) === {listen - nth}"
            until(page, left)
        until(page, "document.activeElement?.textContent.includes('together')")
        assert page.faults == []
        keys.press("Enter")
        until(page, "!!document.querySelector('.done:not([hidden]) > p > a')")

        _tab_to(page, "Back to the visit")
        keys.press("Enter")
        until(page, "!!document.querySelector('.verdict')")
        _tab_until(page, "document.activeElement?.matches('.left a')")  # from #sign-off
        keys.press("Enter")
        until(page, "location.hash.startsWith('#matter')")
        for nth, _ in enumerate(load_record(visits / "harbour").undecided, start=1):
            _tab_until(page, "document.activeElement?.name === 'decision'")
            keys.press("Space")
            keys.press("Tab")
            keys.type("next week")
            keys.press("Enter")
            until(page, f"document.querySelectorAll('.matters .decided').length === {nth}")
        _tab_until(
            page,
            "document.activeElement?.textContent.trim() === 'Sign off' && "
            "document.activeElement?.tagName === 'BUTTON'",
        )
        keys.press("Enter")
        until(
            page,
            "document.querySelector('#sign-off')?.closest('section').innerText"
            ".includes('Nothing has changed')",
        )
        assert "Nothing has changed since" in page.locator("#sign-off").inner_text()
        assert page.faults == []
    seen = load_record(visits / "harbour")
    assert seen.signed and seen.sign_off.by == "A. Okoro"
    assert len(bodies(visits, acts.ReadingConfirmed)) == listen - 1
    (together,) = bodies(visits, acts.ReadingsConfirmed)
    assert len(together.reading_ids) == len(plan.undrawn) - sampled
    assert str(seen.reading(most_doubtful[0]).now.value) == str(wrong)


def _tab_to(page, words):
    """Presses Tab until a link with these words has the focus."""
    if words == "entrance":
        _tab_until(page, "document.activeElement?.matches('.visits a')")
        return
    text = f"document.activeElement?.textContent.trim().startsWith({words!r})"
    _tab_until(page, f"{text} && document.activeElement?.matches('a, button')")


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
@pytest.mark.parametrize("by_keys", [True, False])
def test_a_clean_visit_of_46_readings_is_signed_off_in_twelve_actions(browser, tmp_path, by_keys):
    """Each press of a key or a button counts, from the list to the sign-off."""
    folder = clean_visit(tmp_path / "visits" / "clean")
    with office_at(tmp_path / "visits") as (address, _), page_at(browser, address) as page:
        name_oneself(page)
        until(page, "!!document.querySelector('.visits')")
        actions = 0

        def act(where, key, shown):
            nonlocal actions
            actions += 1
            if by_keys and key:
                page.keyboard.press(key)
            else:
                page.locator(where).first.click()
            until(page, shown)

        here = "document.querySelector"
        act(".visits a", "", f"!!{here}('.decision button')")
        act(".decision button", "", f"!!{here}('.card:not([hidden])')")
        play = ".card:not([hidden]) audio"
        act(play, " ", f"!!{here}('.card:not([hidden])')")
        for left in (4, 3, 2, 1, 0):
            button = ".card:not([hidden]) form.confirm button"
            act(button, "Enter", f"parseInt({here}('.at-nth')?.textContent) === {left}")
        until(page, f"!!{here}('.done:not([hidden]) button:focus')")
        signs = "[...document.querySelectorAll('.done button')].some"
        act(".done button", "Enter", f"{signs}((b) => b.textContent.startsWith('Sign off'))")
        until(page, f"!!{here}('.done button:focus')")
        act(".done button", "Enter", f"{here}('.decision')?.innerText.includes('Signed off by')")
        assert page.faults == []
    assert actions == 10 <= 12
    seen = load_record(folder)
    assert seen.signed and seen.sign_off.by == "A. Okoro"
    (sample,) = seen.samples
    assert len(sample.pool) == 46 and len(sample.drawn) == 5
    alone = {item.id for item in seen.standing if not item.confirmation.together}
    assert alone == set(sample.drawn)


@pytest.mark.slow
def test_one_wrong_of_the_sample_and_the_rest_is_listened_to(browser, tmp_path):
    folder = clean_visit(tmp_path / "visits" / "clean")
    with office_at(tmp_path / "visits") as (address, _), page_at(browser, address) as page:
        name_oneself(page)
        until(page, "!!document.querySelector('.visits')")
        page.locator(".visits a").first.click()
        page.get_by_role("button", name="Listen and confirm").click()
        until(page, "document.activeElement?.classList.contains('card')")
        page.keyboard.press("s")
        until(page, "document.activeElement?.name === 'why'")
        page.keyboard.type("it was never said")
        page.keyboard.press("Enter")
        for left in (4, 3, 2, 1):
            until(page, f"parseInt(document.querySelector('.at-nth')?.textContent) === {left}")
            until(page, "document.activeElement?.classList.contains('card')")
            page.keyboard.press("Enter")
        until(page, "parseInt(document.querySelector('.at-nth')?.textContent) === 41")
        assert page.get_by_role("button", name="together").count() == 0
    assert len(review_plan(load_record(folder)).alone) == 41


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
        until(page, "document.querySelector('.far b').textContent === '1'")


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
