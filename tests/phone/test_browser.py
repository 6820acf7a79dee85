"""The app in a real browser: typed, offline, killed, in two tabs."""

import os
import random

import pytest

from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.reports.unpack import unpack

from ..script import typed_lines
from .app import served
from .phone_browser import begin, opened, phone, resume, saved_pack, say, send, until

pytestmark = pytest.mark.slow

KILLS = int(os.environ.get("HANDSFREE_PHONE_KILLS", "4"))
"""Number of kills at random moments; docs/phone.md tells of a run with 30."""


@pytest.fixture(scope="module")
def address(app):
    with served(app) as where:
        yield where


@pytest.fixture(scope="module")
def context(address):
    with phone() as made:
        page = opened(made, address)
        until(page, "navigator.serviceWorker.controller !== null")
        page.close()
        yield made


def heard_in(folder):
    return [event.body.text for event in read(folder) if isinstance(event.body, ev.Heard)]


def test_a_visit_without_network_leaves_as_a_pack_that_the_desktop_verifies(
    context, address, tmp_path
):
    context.set_offline(True)
    page = opened(context, address)
    begin(page)
    for line in typed_lines()[:8]:
        say(page, line)
    page.click("#yes")
    done = unpack(saved_pack(page, tmp_path), tmp_path / "office")
    context.set_offline(False)
    assert verify(done.folder).whole
    assert heard_in(done.folder)[:8] == typed_lines()[:8]
    assert page.faults == []
    assert all(asked.startswith((address, "blob:")) for asked in page.asked)
    page.close()


def test_a_tab_killed_at_any_moment_loses_no_answered_line(context, address, tmp_path):
    rng, lines, answered = random.Random(28), typed_lines(), 0
    page = opened(context, address)
    begin(page)
    for kill in range(KILLS):
        for _ in range(rng.randrange(0, 3)):
            say(page, lines[answered])
            answered += 1
        send(page, lines[answered])
        page.wait_for_timeout(rng.uniform(0, 120))
        page.close()
        page = opened(context, address)
        resume(page)
        folder = unpack(saved_pack(page, tmp_path), tmp_path / f"{kill}").folder
        heard = heard_in(folder)
        assert heard in (lines[:answered], lines[: answered + 1])
        answered = len(heard)
    page.close()


def test_a_second_tab_is_refused(context, address):
    first = opened(context, address)
    begin(first)
    second = opened(context, address)
    second.click("#list .go")
    until(second, "!document.getElementById('trouble').hidden")
    assert "another tab" in second.inner_text("#trouble")
    first.close()
    second.close()
