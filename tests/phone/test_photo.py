"""A photo from the phone's page: only its pixels enter the visit, as verified with Pillow."""

import io
import json

import pytest
from PIL import Image

from handsfree.clock import FakeClock
from handsfree.errors import PhotoError
from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.paper_events import PhotoKept
from handsfree.journal.photo_files import LONGEST_SIDE
from handsfree.journal.reader import read, verify
from handsfree.phone.companion import Companion
from handsfree.phone.photo import drawn_photo
from handsfree.reports.unpack import unpack

from .walks import JOB, PROCEDURE

SECRET = b"Invented Cameras"


def picture(width=60, height=40, kind="JPEG"):
    """A red picture that names its maker (EXIF 0x010F, memory) and has a comment."""
    made, written = Image.new("RGB", (width, height), (200, 10, 10)), io.BytesIO()
    exif = made.getexif()
    exif[0x010F] = SECRET.decode()
    made.save(written, kind, exif=exif, **({"comment": SECRET} if kind == "JPEG" else {}))
    return written.getvalue()


def test_nothing_but_the_pixels_is_kept():
    content = picture()
    assert SECRET in content
    photo = drawn_photo(content)
    assert SECRET not in photo.content
    shown = Image.open(io.BytesIO(photo.content))
    assert shown.size == (photo.width, photo.height) == (60, 40)
    assert not shown.getexif() and "comment" not in shown.info
    assert shown.tobytes() == Image.open(io.BytesIO(content)).tobytes()


@pytest.mark.parametrize(
    "content",
    [b"", b"\xff\xd8", b"\xff\xd8\xff", picture(kind="PNG"), picture()[:200], picture()[1:]],
)
def test_what_is_no_photo_is_refused(content):
    with pytest.raises(PhotoError, match="could not be read"):
        drawn_photo(content)


def test_a_photo_longer_than_a_visit_keeps_is_refused():
    with pytest.raises(PhotoError):
        drawn_photo(picture(LONGEST_SIDE + 1, 8))


def test_a_photo_lies_in_the_visit_at_its_step_and_in_the_report(tmp_path):
    companion = Companion(str(tmp_path / "visit"), FakeClock())
    companion.begin(JOB, PROCEDURE)
    companion.take_line("done")
    source = sha256_of(b"as it was taken")
    for _ in range(2):  # the same picture twice is one photo
        assert "error" not in json.loads(companion.photo(picture(), source, "IMG 1.jpg"))
    assert "read" in json.loads(companion.photo(b"none", "0" * 64, "x"))["error"]
    companion.take_line("clear")
    (tmp_path / "visit.visit.zip").write_bytes(companion.packed())
    companion.close()
    again = Companion(str(tmp_path / "visit"), FakeClock())
    assert "error" not in json.loads(again.resume())
    again.close()
    done = unpack(tmp_path / "visit.visit.zip", tmp_path / "office")
    (kept,) = (e.body for e in read(done.folder) if isinstance(e.body, PhotoKept))
    assert (kept.called, kept.source_sha256, kept.width) == ("IMG 1.jpg", source, 60)
    assert kept.step_key is not None
    assert verify(done.folder).whole
    report = (done.folder / "report.html").read_text(encoding="utf-8")
    assert "data:image/jpeg" in report
