"""Access to the office: host names, forms, tokens, and requests for other files."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from handsfree.journal.reader import CLIPS, JOURNAL, verify
from handsfree.office.access_guard import is_loopback, names_of

from .house import Desk, hidden_of, office_at

CONFIRM = {"kind": "confirm", "reading_id": "r1"}


@pytest.fixture(scope="module")
def shared_house(waiting: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """One office for tests that only read from it."""
    visits = tmp_path_factory.mktemp("shared") / "visits"
    shutil.copytree(waiting, visits / "harbour")
    with office_at(visits) as (address, _):
        yield address


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "", "localhost.evil"])
def test_a_name_that_is_not_ours_is_not_answered(shared_house, host):
    """A page elsewhere may point its own name at this machine (DNS rebinding)."""
    assert httpx.get(shared_house, headers={"host": host}).status_code in (400, 421)


@pytest.mark.parametrize("host", ["localhost", "LOCALHOST:1", "127.0.0.1", "[::1]:8417"])
def test_our_own_names_are(shared_house, host):
    assert httpx.get(shared_house, headers={"host": host}).status_code == 200


@pytest.mark.slow
@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "http://127.0.0.1:1"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_form_on_another_site_changes_nothing(desk, visits, headers):
    visit = desk.visit()
    page = desk.page(visit)
    before = verify(visits / "harbour").head
    desk.web.headers.update(headers)
    assert desk.change(visit, page, **CONFIRM).status_code == 403
    assert verify(visits / "harbour").head == before


@pytest.mark.slow
def test_every_change_needs_the_token_of_its_form(desk, house, visits):
    visit = desk.visit()
    page = desk.page(visit)
    stranger = Desk(house, "J. Lind")
    strange = stranger.page(visit)
    before = verify(visits / "harbour").head
    given = {"head": hidden_of(page, "head"), "by": "x", "back": "/"}
    for path in (f"{visit}/change", f"{visit}/set-aside", "/name"):
        for csrf in ({}, {"csrf": ""}, {"csrf": "0" * 64}, {"csrf": hidden_of(strange, "csrf")}):
            answer = desk.web.post(path, data=CONFIRM | given | csrf)
            assert answer.status_code == 403, (path, csrf)
            assert "This page is too old" in answer.text
    no_cookie = httpx.post(
        f"{house}{visit}/change", data=CONFIRM | given | {"csrf": hidden_of(page, "csrf")}
    )
    assert no_cookie.status_code == 403
    assert verify(visits / "harbour").head == before


@pytest.mark.slow
def test_a_form_that_is_none_of_ours_is_refused(desk):
    visit = desk.visit()
    csrf = hidden_of(desk.page(visit), "csrf")
    files = desk.web.post(f"{visit}/change", data={"csrf": csrf}, files={"new": b"x"})
    assert files.status_code == 422
    assert desk.web.post(f"{visit}/change", json={"csrf": csrf}).status_code == 422
    large = desk.web.post(f"{visit}/change", data={"csrf": csrf, "new": "x" * 70_000})
    assert large.status_code == 413
    many = desk.web.post(f"{visit}/change", data={"csrf": csrf} | {f"f{n}": "" for n in range(40)})
    assert many.status_code == 422
    assert desk.web.put(f"{visit}/change", content=b"").status_code == 405
    assert desk.web.get(f"{visit}/change").status_code == 405
    assert desk.change(visit, kind="rubbish").status_code == 422


@pytest.mark.parametrize(
    "path",
    [
        "/visit/..%2f..%2fetc",
        "/visit/0000000000000000",
        "/static/..%2fapp.py",
        "/static/..%2f..%2fhandsfree%2foffice%2fapp.py",
        "{visit}/clips/..%2fjournal.jsonl",
        "{visit}/clips/../journal.jsonl",
        "{visit}/clips/%2e%2e%2fjournal.jsonl",
        "{visit}/clips/.flac",
        "{visit}/clips/000001.flac%00",
        "{visit}/clips/%2fetc%2fpasswd",
        "{visit}/clips/head.json",
        "{visit}/change/reading/999999",
        "{visit}/change/note/1",
        "{visit}/change/rubbish/1",
    ],
)
def test_no_path_leads_out_of_the_folder(shared_house, path):
    desk = Desk(shared_house)
    answer = desk.web.get(path.format(visit=desk.visit()))
    assert answer.status_code == 404
    assert "body" not in answer.text or "There is no such page" in answer.text


def test_a_link_leads_nowhere(visits, waiting, tmp_path):
    """A visit, a journal's folder and a clip that are only linked to are not shown."""
    outside = tmp_path / "outside"
    shutil.copytree(waiting, outside)
    (visits / "linked").symlink_to(outside)
    clips = visits / "harbour" / CLIPS
    secret = tmp_path / "secret.flac"
    secret.write_bytes(b"secret")
    (clips / "999999.flac").symlink_to(secret)
    with office_at(visits) as (address, office):
        desk = Desk(address)
        assert desk.page("/").count('href="/visit/') == 1
        assert desk.web.get(f"{desk.visit()}/clips/999999.flac").status_code == 404
        visit = desk.visit()
        shutil.move(visits / "harbour", tmp_path / "moved")
        (visits / "harbour").symlink_to(tmp_path / "moved")
        assert desk.web.get(visit).status_code == 404
        assert office.index.folder(visit.rpartition("/")[2]) is None


@pytest.mark.slow
def test_a_folder_may_be_named_like_anything(waiting, tmp_path):
    root = tmp_path / "visits"
    names = ("<b>&amp;", "a?b#c", "..visit", "%2e%2e", "dos\\back", "line\nbreak", "ü 訪問")
    for name in names:
        shutil.copytree(waiting, root / name)
    with office_at(root) as (address, _):
        desk = Desk(address)
        for nth in range(len(names)):
            visit = desk.visit(nth)
            assert desk.change(visit, **CONFIRM).status_code == 303
            assert desk.web.get(f"{visit}/clips/000002.flac").status_code in (200, 404)
    for name in names:
        assert verify(root / name).whole


def test_beyond_this_machine_nothing_is_shown_without_the_token(visits):
    with (
        office_at(visits, token="t0ken") as (address, _),
        httpx.Client(base_url=address) as stranger,
        httpx.Client(base_url=address) as other,
    ):
        for path in ("/", "/visit/0000000000000000", "/name"):
            answer = stranger.get(path)
            assert (answer.status_code, answer.headers["location"]) == (303, "/token")
        assert stranger.get("/?token=wrong").status_code == 401
        assert stranger.post("/name", data={"by": "x"}).status_code == 401
        assert stranger.post("/token", data={"token": "wrong"}).status_code == 401
        assert stranger.get("/static/report.css").status_code == 200
        entered = stranger.post("/token", data={"token": " t0ken "})
        assert entered.status_code == 303 and stranger.get("/").status_code == 200
        asked = other.get("/?q=pool&token=t0ken")
        assert (asked.status_code, asked.headers["location"]) == (303, "/?q=pool")
        assert other.get("/").status_code == 200


@pytest.mark.slow
def test_what_a_browser_may_do_with_a_page_is_said(desk):
    visit = desk.visit()
    for path in ("/", visit, f"{visit}/listen", f"{visit}/change/reading/1", "/name", "/nothing"):
        headers = desk.web.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy, path
        assert "unsafe-inline' 'unsafe" not in policy and "*" not in policy, path
        script = next(p for p in policy.split(";") if p.strip().startswith("script-src"))
        assert "unsafe" not in script, path
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"


@pytest.mark.slow
def test_where_one_goes_back_to_is_always_ours(desk):
    for back in ("//evil.example/x", "https://evil.example", "/\\evil.example", "evil"):
        answer = desk.send("/name", desk.page("/name"), by="J. Lind", back=back)
        assert answer.headers["location"] == "/"
    visit = desk.visit()
    answer = desk.change(visit, at="x\r\nset-cookie: a=b", **CONFIRM)
    assert answer.headers["location"] == visit


def test_a_reader_of_the_disk_learns_no_path_from_a_page(desk, visits):
    """What is wrong is told with the line, not with where the folder lies on the machine."""
    visit = desk.visit()
    (visits / "harbour" / JOURNAL).write_bytes(b"rubbish\n")
    answer = desk.web.get(visit)
    assert answer.status_code == 409 and str(visits) not in answer.text
    assert "The journal cannot be used" in answer.text


@pytest.mark.parametrize(
    ("host", "alone"),
    [
        ("127.0.0.1", True),
        ("::1", True),
        ("localhost", True),
        ("0.0.0.0", False),
        ("192.0.2.7", False),
        ("::", False),
        ("office.example", False),
    ],
)
def test_only_loopback_is_this_machine_alone(host, alone):
    assert is_loopback(host) is alone
    names, any_address = names_of(host)
    assert any_address is not alone and "localhost" in names
