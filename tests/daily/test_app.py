"""The page of the daily walk: access and content, with and without a real browser."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import httpx
import pytest

from handsfree.journal.reader import verify
from handsfree.visit_record.load import load_record

from ..browser import page_at, violations
from .house import page_of
from .test_walk import KNOWN, walk_in

HOSTILE = '<img src=x onerror=alert(1)> "door"'
EVIL = KNOWN.replace('"lobby door"', "'" + HOSTILE + "'")


@pytest.fixture
def web(tmp_path: Path) -> Iterator[httpx.Client]:
    """A minimal HTTP client for the page of a walk that has not begun."""
    with (
        page_of(walk_in(tmp_path, opening=EVIL)) as address,
        httpx.Client(base_url=address, timeout=60, follow_redirects=True) as client,
    ):
        yield client


def hidden(page: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    assert found is not None, page
    return unescape(found[1])


def begin(web: httpx.Client, name: str = "Dana Ruiz") -> httpx.Response:
    page = web.get("/").text
    return web.post("/begin", data={"csrf": hidden(page, "csrf"), "name": name})


@pytest.mark.slow
def test_the_page_is_escaped_and_has_a_strict_policy_and_no_script(web):
    shown = web.get("/")
    assert HOSTILE not in shown.text and "&lt;img src=x" in shown.text
    assert "<script" not in shown.text
    assert "default-src 'none'" in shown.headers["content-security-policy"]
    assert shown.headers["x-frame-options"] == "DENY"
    assert shown.headers["cache-control"] == "no-store"
    assert begin(web, '<script>alert("me")</script>').status_code == 200
    page = web.get("/")
    noted = '<script>alert("note")</script>'
    answer = {"csrf": hidden(page.text, "csrf"), "turn": hidden(page.text, "turn")}
    web.post("/answer", data=answer | {"say": "fail", "note": noted})
    assert "<script" not in web.get("/").text


@pytest.mark.slow
def test_a_form_is_taken_once_from_our_own_page_only(web, tmp_path):
    assert web.post("/begin", data={"name": "Dana Ruiz"}).status_code == 403
    assert not (tmp_path / "walk").exists()
    assert begin(web, "").status_code == 422
    page = begin(web).text
    head = verify(tmp_path / "walk").head
    answer = {"turn": hidden(page, "turn"), "say": "pass"}
    assert web.post("/answer", data=answer).status_code == 403
    csrf = {"csrf": hidden(page, "csrf")}
    evil = {"origin": "http://evil.example"}
    assert web.post("/answer", data=answer | csrf, headers=evil).status_code == 403
    assert verify(tmp_path / "walk").head == head
    assert "Step 2" in web.post("/answer", data=answer | csrf).text
    head = verify(tmp_path / "walk").head
    again = web.post("/answer", data=answer | csrf)
    assert "That question was answered before" in again.text
    for turn in ("", "-1", "x", "9" * 30):
        web.post("/answer", data=csrf | {"turn": turn, "say": "pass"})
    assert verify(tmp_path / "walk").head == head


@pytest.mark.slow
def test_another_begin_does_not_end_an_open_walk(web, tmp_path):
    page = begin(web).text
    web.post("/begin", data={"csrf": hidden(page, "csrf"), "name": "somebody else"})
    assert load_record(tmp_path / "walk").sheet.technician == "Dana Ruiz"


@pytest.mark.slow
def test_a_host_name_that_is_not_ours_and_a_missing_token_get_nothing(tmp_path):
    with page_of(walk_in(tmp_path), token="secret") as address:
        assert httpx.get(address, headers={"host": "evil.example"}).status_code == 421
        refused = httpx.get(address, follow_redirects=True)
        assert refused.status_code == 401 and "lobby door" not in refused.text
        assert httpx.post(f"{address}/begin", data={"name": "a"}).status_code == 401
        assert httpx.get(f"{address}/?token=wrong").status_code == 401
        with httpx.Client(follow_redirects=True) as client:
            shown = client.get(f"{address}/?token=secret")
            assert "lobby door" in shown.text and "secret" not in str(shown.url)


@pytest.mark.slow
@pytest.mark.parametrize(("language", "width"), [("en", 390), ("es", 1280)])
def test_a_whole_walk_with_the_keyboard_alone(browser, tmp_path, language, width):
    """Tab and Enter lead through every question; axe finds nothing; nothing is cut off."""
    walk = walk_in(tmp_path, language)
    with page_of(walk) as address, page_at(browser, address, width=width) as page:
        assert violations(page) == []
        tab_to(page, "input")
        page.keyboard.type("Dana Ruiz")
        press(page, "Tab", "Enter")
        seen = set()
        for nth in range(40):
            if not walk.open:
                break
            kind = page.locator("form").evaluate(
                "f => f.className + f.querySelectorAll('*').length"
            )
            if kind not in seen:
                seen.add(kind)
                assert violations(page) == []
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            heights = [b.bounding_box()["height"] for b in page.get_by_role("button").all()]
            assert min(heights) >= 48
            if page.locator("input[name=promise]").count():
                tab_to(page, "input")
                page.keyboard.press("Space")
            if nth == 1:
                tab_to(page, "button.bad")
            elif page.locator("#say").count():
                asked = page.locator("h1").inner_text()
                assert asked.startswith(
                    {"en": "Write in a few", "es": "Escriba en pocas"}[language]
                )
                tab_to(page, "#say")
                page.keyboard.type("the sign is gone")
                press(page, "Tab")
            else:
                tab_to(page, "button")
            press(page, "Enter")
        assert not walk.open
        assert violations(page) == []
        assert page.faults == []
        assert all(url.startswith(address) for url in page.asked)
        assert "the sign is gone" in page.locator("main").inner_text()
    visit = load_record(tmp_path / "walk")
    assert visit.complete and visit.sheet.language == language


def press(page, *keys):
    """Presses keys; the last one may lead to another page, which is waited for."""
    for key in keys[:-1]:
        page.keyboard.press(key)
    if keys[-1] == "Enter":
        with page.expect_navigation():
            page.keyboard.press("Enter")
    else:
        page.keyboard.press(keys[-1])


def tab_to(page, wanted):
    for _ in range(20):
        page.keyboard.press("Tab")
        if page.evaluate(f"document.activeElement.matches('{wanted}')"):
            return
    pytest.fail(f"the keyboard does not reach {wanted}")
