"""Faults of a phone's browser during a visit are reported, and the visit continues."""

import base64
import hashlib
import io
import json
import shutil

import pytest
from PIL import Image

from handsfree.journal import events as ev
from handsfree.journal.paper_events import PhotoKept
from handsfree.journal.reader import read, verify
from handsfree.reports.unpack import unpack

from ..browser import violations
from .app import served
from .phone_browser import begin, opened, phone, resume, saved_pack, say, send, until

pytestmark = pytest.mark.slow

ENDED = """
const open = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
navigator.mediaDevices.getUserMedia = async (wanted) => {
  const stream = await open(wanted);
  globalThis.takeAway = () => {
    const [track] = stream.getTracks();
    track.stop();
    track.dispatchEvent(new Event("ended"));
  };
  return stream;
};
"""
FAKE = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream")


@pytest.fixture(scope="module")
def address(app):
    with served(app) as where:
        yield where


def shown(page, id):
    return page.evaluate(f"!document.getElementById('{id}').hidden")


def step(page):
    return page.inner_text("#step")


def large_picture():
    """A picture of noise, which no compression makes small."""
    content = io.BytesIO()
    Image.effect_noise((1500, 1500), 100).convert("RGB").save(content, "JPEG", quality=95)
    return {"name": "IMG.jpg", "mimeType": "image/jpeg", "buffer": content.getvalue()}


USED = "navigator.storage.estimate().then(({ usage }) => usage)"


def limit_storage(devtools, address, size):
    """Limits the storage of the app's origin to ``size`` bytes until the tab's session ends."""
    limit = {"origin": address.rstrip("/"), "quotaSize": size}
    devtools.send("Storage.overrideQuotaForOrigin", limit)


def newer(app, folder):
    """A newer version of an app: another icon, with its hash in both lists."""
    shutil.copytree(app, folder)
    icon = (folder / "icon.svg").read_bytes() + b"<!-- newer -->"
    (folder / "icon.svg").write_bytes(icon)
    old = json.loads((folder / "app.json").read_text())["files"]["icon.svg"]
    new = "sha256-" + base64.b64encode(hashlib.sha256(icon).digest()).decode()
    for name in ("app.json", "sw.js"):
        text = (folder / name).read_text()
        assert old in text
        (folder / name).write_text(text.replace(old, new))


def test_an_update_waits_for_the_next_start_and_a_reload_goes_on(app, tmp_path):
    served_here = tmp_path / "app"
    shutil.copytree(app, served_here)
    version = "fetch('icon.svg').then((a) => a.text()).then((t) => t.includes('newer'))"
    with served(served_here) as address, phone() as made:
        page = opened(made, address)
        until(page, "navigator.serviceWorker.controller !== null")
        begin(page)
        say(page, "done")
        shutil.rmtree(served_here)
        newer(app, served_here)
        page.evaluate("navigator.serviceWorker.getRegistration().then((r) => r.update())")
        until(page, "navigator.serviceWorker.getRegistration().then((r) => r.waiting !== null)")
        say(page, "clear")
        before = step(page)
        assert not page.evaluate(version)
        page.reload()
        until(page, "document.querySelector('#list .go:enabled') !== null")
        assert not page.evaluate(version)
        resume(page)
        assert step(page) == before
        page.close()
        page = opened(made, address)
        until(page, version)
        resume(page)
        assert step(page) == before
        assert page.faults == []


def test_a_microphone_that_is_refused_is_told_and_typing_goes_on(address):
    with phone() as made:
        page = opened(made, address)
        begin(page)
        page.click("#listen")
        until(page, "document.getElementById('note').textContent.startsWith('No microphone')")
        say(page, "done")
        assert page.inner_text("#heard") == "heard: done"
        assert page.get_attribute("#listen", "aria-pressed") == "false"


def test_a_microphone_that_is_taken_away_is_told_and_may_come_back(address, tmp_path):
    with phone(*FAKE) as made:
        made.add_init_script(ENDED)
        page = opened(made, address)
        begin(page)
        page.click("#listen")
        until(page, "document.getElementById('listen').getAttribute('aria-pressed') === 'true'")
        page.evaluate("takeAway()")
        until(page, "!document.getElementById('fault').hidden")
        assert "microphone" in page.inner_text("#fault")
        say(page, "done")
        page.click("#listen")
        until(page, "document.getElementById('fault').hidden")
        page.click("#listen")
        done = unpack(saved_pack(page, tmp_path), tmp_path / "office")
    bodies = [event.body for event in read(done.folder)]
    faults = [body.what for body in bodies if isinstance(body, ev.Fault)]
    assert faults == ["microphone_lost", "microphone_back"]
    assert "done" in [b.text for b in bodies if isinstance(b, ev.Heard) and b.clip is None]


def test_storage_that_runs_full_is_told_before_and_nothing_unkept_is_answered(address, tmp_path):
    """The reserve keeps what is said when it is full; after that nothing unkept is answered."""
    with phone() as made:
        page = opened(made, address)
        begin(page)
        say(page, "done")
        devtools = made.new_cdp_session(page)
        limit_storage(devtools, address, page.evaluate(USED) + 100_000)
        page.set_input_files("#photo", large_picture())
        until(page, "document.getElementById('space').textContent.includes('is kept')")
        assert page.inner_text("#fault") == ""
        say(page, "clear")
        limit_storage(devtools, address, 1)
        before = page.inner_text("#said")
        send(page, "done")
        until(page, "!document.getElementById('fault').hidden")
        assert "could not be stored" in page.inner_text("#fault")
        send(page, "done")
        until(page, "document.getElementById('fault').textContent.includes('visit')")
        assert page.inner_text("#said") == before
        page.goto(address)
        until(page, "document.body.dataset.ready === 'page'")
        assert "Less than 8 MB" in page.inner_text("#trouble")
        page.close()  # the limit ends with the tab's session
        page = opened(made, address)
        resume(page)
        say(page, "done")
        done = unpack(saved_pack(page, tmp_path), tmp_path / "office")
    bodies = [event.body for event in read(done.folder)]
    assert [body.text for body in bodies if isinstance(body, ev.Heard)] == ["done", "clear", "done"]
    assert any(isinstance(body, PhotoKept) for body in bodies)
    assert verify(done.folder).whole


@pytest.mark.parametrize(
    ("without", "named", "where"),
    [
        ("delete globalThis.WebAssembly", "WebAssembly", "trouble"),
        ("navigator.storage.getDirectory = undefined", "private files", "trouble"),
        ("delete globalThis.AudioWorkletNode", "audio worklets", "note"),
    ],
)
def test_a_browser_that_lacks_something_is_told_what_and_what_would_do(
    address, without, named, where
):
    with phone() as made:
        made.add_init_script(without)
        page = made.new_page()
        page.goto(address)
        if where == "note":
            until(page, "!document.getElementById('begin').disabled")
            begin(page)
            say(page, "done")
        until(page, f"!document.getElementById('{where}').hidden")
        told = page.inner_text(f"#{where}")
        assert named in told and "Chrome" in told


@pytest.mark.parametrize("locale", ["en-US", "es-MX"])
def test_a_photo_comes_into_the_visit_and_no_page_has_a_fault_of_access(address, tmp_path, locale):
    exif = Image.Exif()
    exif[0x010F], exif[0x0112] = "Invented Cameras", 6  # maker, and turned by a quarter (memory)
    content = io.BytesIO()
    Image.new("RGB", (300, 200), (200, 10, 10)).save(content, "JPEG", exif=exif)
    picture = {"name": "IMG.jpg", "mimeType": "image/jpeg", "buffer": content.getvalue()}
    with phone(locale=locale) as made:
        page = opened(made, address)
        assert violations(page) == []
        begin(page)
        before = page.evaluate("document.body.dataset.turn")
        page.set_input_files("#photo", picture)
        until(page, f"document.body.dataset.turn !== '{before}'")
        assert not shown(page, "fault")
        page.set_input_files("#photo", picture | {"name": "no.jpg", "buffer": b"no picture"})
        until(page, "!document.getElementById('fault').hidden")
        assert "JPEG" in page.inner_text("#fault")
        say(page, {"en-US": "done", "es-MX": "listo"}[locale])
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            assert violations(page) == []
        width = page.evaluate("document.documentElement.scrollWidth")
        assert width <= page.viewport_size["width"]
        done = unpack(saved_pack(page, tmp_path), tmp_path / "office")
    (kept,) = (e.body for e in read(done.folder) if isinstance(e.body, PhotoKept))
    assert (kept.width, kept.height, kept.called) == (200, 300, "IMG.jpg")
    assert b"Invented" not in (done.folder / "pictures" / kept.file).read_bytes()
    assert verify(done.folder).whole
