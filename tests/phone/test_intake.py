"""Packs sent by phones to an office: the token, sizes, and the resulting visit."""

import httpx
import pytest
from anyio.from_thread import start_blocking_portal
from starlette.applications import Starlette

from handsfree.clock import FakeClock
from handsfree.journal.reader import read, verify
from handsfree.office.changes import Decide, SignOff
from handsfree.phone import intake
from handsfree.phone.companion import Companion
from handsfree.phone.intake import PACKS_PATH, packs_route

from ..reports.at_desk import AtDesk
from ..script import typed_lines
from .walks import JOB, PROCEDURE

TOKEN = {"authorization": "Bearer the-token"}


class Client:
    """A client that calls the application directly, without a port."""

    def __init__(self, app):
        self.app = app

    def ask(self, method, content=None, headers=None):
        async def answered():
            over = httpx.ASGITransport(self.app)
            async with httpx.AsyncClient(transport=over, base_url="http://office") as web:
                return await web.request(method, PACKS_PATH, content=content, headers=headers)

        with start_blocking_portal() as portal:  # a browser test leaves a loop in this thread
            return portal.call(answered)

    def post(self, content, headers):
        return self.ask("POST", content, headers)


@pytest.fixture
def client(tmp_path):
    (tmp_path / "visits").mkdir()
    return Client(Starlette(routes=[packs_route(tmp_path / "visits", "the-token")]))


@pytest.fixture
def companion(tmp_path):
    made = Companion(str(tmp_path / "harbour"), FakeClock())
    made.begin(JOB, PROCEDURE)
    yield made
    made.close()


def test_a_pack_that_goes_on_takes_the_place_of_the_older_one(client, companion, tmp_path):
    came = [client.post(companion.packed(), headers=TOKEN).json()]
    came.append(client.post(companion.packed(), headers=TOKEN).json())
    older = companion.packed()
    companion.take_line("done")
    came.append(client.post(companion.packed(), headers=TOKEN).json())
    assert [each["came"] for each in came] == ["unpacked", "unchanged", "replaced"]
    assert verify(tmp_path / "visits" / "harbour").whole
    back = client.post(older, headers=TOKEN)
    assert back.status_code == 409 and "continued since" in back.json()["error"]


@pytest.mark.parametrize("headers", [{}, {"authorization": "Bearer"}, {"authorization": "no"}])
def test_without_the_token_nothing_is_taken(client, companion, tmp_path, headers):
    answer = client.post(companion.packed(), headers=headers)
    assert answer.status_code == 401 and "token" in answer.json()["error"]
    assert list((tmp_path / "visits").iterdir()) == []


def test_what_is_no_pack_is_refused(client, tmp_path):
    answer = client.post(b"PK no pack", headers=TOKEN)
    assert answer.status_code == 409 and "not a pack" in answer.json()["error"]
    assert list((tmp_path / "visits").iterdir()) == []


def test_a_pack_of_no_told_size_or_too_large_is_refused(client, monkeypatch):
    async def pieces():
        yield b"PK"

    unsized = client.post(pieces(), headers=TOKEN)
    monkeypatch.setattr(intake, "LARGEST", 10)
    large = client.post(b"x" * 11, headers=TOKEN)
    assert (unsized.status_code, large.status_code) == (413, 413)


def test_only_packs_are_taken(client):
    assert client.ask("GET").status_code == 405


@pytest.mark.slow
def test_a_visit_from_a_phone_is_reviewed_and_signed_like_any_other(client, companion, tmp_path):
    for line in typed_lines():
        companion.take_line(line)
    assert client.post(companion.packed(), headers=TOKEN).json()["came"] == "unpacked"
    desk = AtDesk(read(tmp_path / "visits" / "harbour"))
    assert len(desk.record().standing) > 40 and not desk.record().signed
    desk.confirm_all()
    for matter in desk.record().open_items:
        desk.change(Decide(key=matter.key, decision="accepted", why="seen"))
    desk.change(SignOff())
    assert desk.record().signed
