"""Dropped pictures enter a visit without their metadata; other files stay outside.

Pillow reads what comes out. The tags are those of EXIF (memory): 0x0112 orientation, 0x010F maker,
0x9003 taken at, 0x8825 GPS.
"""

from __future__ import annotations

import io
import json
import shutil
import sys
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from handsfree.cli import main
from handsfree.data import data_folder
from handsfree.errors import PhotoError
from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.paper_events import PhotoKept, VisitFactKept
from handsfree.journal.photo_files import LONGEST_SIDE, MOST_OF_PHOTO, clean, thumbnail
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from handsfree.reports.embedded_photos import InlinePhotos
from handsfree.reports.embedded_sound import NoSound
from handsfree.reports.report_html import report_html
from handsfree.visit.photos import take_photos
from handsfree.visit_record.load import load_record

from ..journal.examples import OPENED

NOW = datetime(2100, 1, 1, tzinfo=UTC)
SECRET = b"Invented Cameras"
HEIC = Path(__file__).with_name("phone.heic")
"""A white picture with a red corner, 64 by 48 pixels, written by libheif."""
PROCEDURE = """
name = "one"
title = "One step"

[[stage]]
id = "survey"
title = "survey"

[[step]]
id = "look"
stage = "survey"
prompt = "Look at the door."
brief = "Look."
waits = "done"
why = "It is there."
"""


def picture(
    size: tuple[int, int] = (40, 30), *, taken: str | None = None, turned: int = 1
) -> bytes:
    """A JPEG with a red upper left corner, a comment, a maker, GPS, and an orientation."""
    image = Image.new("RGB", size, "white")
    image.paste("red", (0, 0, size[0] // 4, size[1] // 4))
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = turned, SECRET.decode()
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (40.0, 30.0, 0.0)
    if taken is not None:
        exif.get_ifd(0x8769)[0x9003] = taken
    written = io.BytesIO()
    image.save(written, "JPEG", exif=exif, comment=SECRET)
    return written.getvalue()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A visit with two photos said to be taken, and an empty folder to drop them into."""
    folder = tmp_path / "visit"
    with Journal.create(folder) as journal:
        journal.append(OPENED, NOW)
        for step in ("signs", "plates"):
            journal.append(VisitFactKept(name="photo", step_key=step), NOW)
    (folder / "photos").mkdir()
    return folder


def take(folder: Path) -> tuple[tuple[PhotoKept, ...], list[tuple[str, str]]]:
    with Journal.open(folder, NOW) as journal:
        kept, refused = take_photos(journal, read(folder), NOW)
    return kept, [tuple(each) for each in refused]


def test_a_photo_with_gps_comes_out_without_it(folder):
    dropped = picture(taken="2026:03:14 09:15:02")
    (folder / "photos" / "plate.jpg").write_bytes(dropped)
    (kept,), refused = take(folder)
    content = (folder / "pictures" / kept.file).read_bytes()
    assert not refused and SECRET in dropped and SECRET not in content
    seen = Image.open(io.BytesIO(content))
    assert not seen.getexif() and "comment" not in seen.info and "exif" not in seen.info
    assert (kept.sha256, kept.size) == (sha256_of(content), len(content))
    assert kept.taken_at == "2026-03-14T09:15:02" and kept.called == "plate.jpg"
    assert (folder / "photos" / "plate.jpg").read_bytes() == dropped


def test_it_stands_upright(folder):
    """Orientation 6: the first row of the file is the right side of the picture."""
    (folder / "photos" / "a.jpg").write_bytes(picture((40, 30), turned=6))
    (kept,), _ = take(folder)
    seen = Image.open(folder / "pictures" / kept.file)
    assert (kept.width, kept.height) == seen.size == (30, 40)
    red, _, blue = seen.getpixel((28, 2))
    assert red > 200 and blue < 60


def test_a_phones_heic_without_its_decoder_says_what_to_do(folder, monkeypatch):
    monkeypatch.setitem(sys.modules, "pi_heif", None)
    (folder / "photos" / "a.heic").write_bytes(HEIC.read_bytes())
    kept, ((name, why),) = take(folder)
    assert not kept and name == "a.heic"
    assert why == (
        "it is a HEIC picture, and the decoder for these is not installed"
        " (export it as JPEG and drop that, or pip install 'handsfree[heic]')"
    )


def test_a_phones_heic_is_taken_in_without_its_metadata(folder):
    pytest.importorskip("pi_heif")
    (folder / "photos" / "a.heic").write_bytes(HEIC.read_bytes())
    (folder / "photos" / "cut.heic").write_bytes(HEIC.read_bytes()[:400])
    (kept,), ((cut, why),) = take(folder)
    content = (folder / "pictures" / kept.file).read_bytes()
    assert cut == "cut.heic" and "damaged" in why
    assert b"SECRET-MAKE" in HEIC.read_bytes() and b"SECRET-MAKE" not in content
    assert kept.taken_at == "2026-03-14T09:15:02"
    seen = Image.open(io.BytesIO(content))
    assert (kept.width, kept.height) == seen.size == (64, 48)
    red, _, blue = seen.getpixel((3, 3))
    assert red > 200 and blue < 60


def test_photos_get_the_steps_at_which_they_were_said_in_the_order_of_the_camera(folder):
    (folder / "photos" / "a.jpg").write_bytes(picture(taken="2026:03:14 10:00:00"))
    (folder / "photos" / "b.jpg").write_bytes(picture((44, 30), taken="2026:03:14 09:00:00"))
    kept, _ = take(folder)
    assert [(k.called, k.step_key) for k in kept] == [("b.jpg", "signs"), ("a.jpg", "plates")]
    assert verify(folder).whole


def test_no_step_is_guessed_where_the_numbers_differ(folder):
    (folder / "photos" / "a.jpg").write_bytes(picture())
    (kept,), _ = take(folder)
    assert kept.step_key is None


def test_what_was_taken_in_before_is_left_alone(folder):
    (folder / "photos" / "a.jpg").write_bytes(picture())
    (folder / "photos" / "again.jpg").write_bytes(picture())
    assert len(take(folder)[0]) == 1
    assert take(folder) == ((), [])


def test_what_is_no_picture_is_named_in_one_line_each(folder, tmp_path):
    dropped = folder / "photos"
    (dropped / "no.jpg").write_bytes(b"no picture")
    (dropped / "cut.jpg").write_bytes(picture((400, 300))[:900])
    with (dropped / "big.jpg").open("wb") as big:
        big.truncate(MOST_OF_PHOTO + 1)
    (dropped / "folder.jpg").mkdir()
    (dropped / "link.jpg").symlink_to(tmp_path / "elsewhere.jpg")
    (tmp_path / "elsewhere.jpg").write_bytes(picture())
    (dropped / ".hidden.jpg").write_bytes(picture())
    kept, refused = take(folder)
    assert kept == ()
    assert {name: why.split(" (")[0] for name, why in refused} == {
        "big.jpg": "it is larger than 50 MB",
        "cut.jpg": "it is not a picture, or it is damaged",
        "folder.jpg": "it is not a regular file",
        "link.jpg": "it is a link",
        "no.jpg": "it is not a picture, or it is damaged",
    }
    assert dict(refused)["big.jpg"].endswith("(make it smaller, and drop it again)")
    assert not (folder / "pictures").exists()
    (dropped / "good.jpg").write_bytes(picture())
    done = CliRunner().invoke(main, ["photos", str(folder)])
    assert done.exit_code == 1 and "good.jpg: pictures/" in done.output  # the good one is taken


@pytest.mark.slow
def test_a_picture_of_too_many_pixels_is_refused_before_it_is_decoded():
    written = io.BytesIO()
    Image.new("1", (10_000, 8_001)).save(written, "PNG")
    with pytest.raises(PhotoError, match="more than 80 million pixels"):
        clean(written.getvalue())


def test_a_large_photo_is_made_smaller_and_a_transparent_one_white():
    large = clean(picture((LONGEST_SIDE + 200, 60)))
    assert (large.width, large.height) == (LONGEST_SIDE, 56)
    written = io.BytesIO()
    Image.new("RGBA", (8, 8), (255, 0, 0, 0)).save(written, "PNG")
    seen = Image.open(io.BytesIO(clean(written.getvalue()).content))
    assert seen.mode == "RGB" and min(seen.getpixel((4, 4))) > 250
    assert max(Image.open(io.BytesIO(thumbnail(written.getvalue(), 4))).size) == 4


@pytest.mark.parametrize(
    ("spoil", "reason"),
    [
        (lambda file: file.unlink(), "its photo 000004.jpg is missing"),
        (
            lambda file: file.write_bytes(picture()),
            "its photo 000004.jpg is not the one that was stored",
        ),
    ],
)
def test_a_photo_that_was_changed_or_removed_breaks_the_journal(folder, spoil, reason):
    (folder / "photos" / "a.jpg").write_bytes(picture())
    take(folder)
    spoil(folder / "pictures" / "000004.jpg")
    broken = verify(folder).broken
    assert broken is not None and (broken.line, broken.reason) == (4, reason)


@pytest.mark.slow
def test_a_pack_takes_it_along_and_no_other_picture(folder, tmp_path):
    (folder / "photos" / "a.jpg").write_bytes(picture())
    run = CliRunner()
    done = run.invoke(main, ["photos", str(folder)])
    assert done.exit_code == 0 and done.output == "a.jpg: pictures/000004.jpg, 40 x 30\n"
    assert "no new picture" in run.invoke(main, ["photos", str(folder)]).output
    pack = tmp_path / "a.visit.zip"
    assert run.invoke(main, ["pack", str(folder), "--out", str(pack)]).exit_code == 0
    names = zipfile.ZipFile(pack).namelist()
    assert "pictures/000004.jpg" in names and not [n for n in names if n.startswith("photos")]
    done = run.invoke(main, ["unpack", str(pack), "--into", str(tmp_path / "there")])
    assert done.exit_code == 0 and verify(tmp_path / "there" / "visit").whole
    hostile = tmp_path / "b.visit.zip"
    _with_another(pack, hostile, picture())
    done = run.invoke(main, ["unpack", str(hostile), "--into", str(tmp_path / "else")])
    assert done.exit_code == 2
    assert "it holds 'pictures/000099.jpg', which its journal does not name" in done.output


def test_the_report_shows_it_small_and_nothing_where_it_is_gone(folder):
    (folder / "photos" / "a<b>.jpg").write_bytes(picture((1200, 900)))
    take(folder)
    visit = load_record(folder)
    page = report_html(visit, NoSound(), photos=InlinePhotos(folder))
    assert page.count("data:image/jpeg;base64,") == 1 and "a&lt;b&gt;.jpg" in page
    shutil.rmtree(folder / "pictures")
    page = report_html(visit, NoSound(), photos=InlinePhotos(folder))
    assert "data:image/jpeg" not in page and "It is not in this page." in page


def test_a_picture_that_cannot_be_stored_is_not_in_the_journal(folder):
    (folder / "photos" / "a.jpg").write_bytes(picture())
    (folder / "pictures").symlink_to(folder)
    done = CliRunner().invoke(main, ["photos", str(folder)])
    assert done.exit_code == 2 and "the folder of the photos is a link" in done.output
    assert not [e for e in read(folder) if isinstance(e.body, PhotoKept)]


def _with_another(pack: Path, into: Path, content: bytes) -> None:
    """The pack with one more picture, which its manifest names."""
    with zipfile.ZipFile(pack) as old, zipfile.ZipFile(into, "w") as new:
        for name in old.namelist():
            inside = old.read(name)
            if name == "manifest.json":
                told = json.loads(inside)
                told["files"]["pictures/000099.jpg"] = {
                    "size": len(content),
                    "sha256": sha256_of(content),
                }
                inside = json.dumps(told).encode()
            new.writestr(name, inside)
        new.writestr("pictures/000099.jpg", content)


@pytest.mark.slow
@pytest.mark.parametrize("dropped", [False, True])
def test_a_visit_that_closes_takes_photos_in_or_says_where_they_belong(tmp_path, dropped):
    job = data_folder("audio_fixtures") / "harbour-hall.job.toml"
    steps = tmp_path / "one.procedure.toml"
    steps.write_text(PROCEDURE, encoding="utf-8")
    folder = tmp_path / "one"
    if dropped:
        (folder / "photos").mkdir(parents=True)
        (folder / "photos" / "a.jpg").write_bytes(picture())
    asked = ["visit", "--typed", "--job", str(job), "--procedure", str(steps), "--out", str(folder)]
    done = CliRunner().invoke(main, asked, input="photo\ndone\n")
    visit, said = load_record(folder), done.output.replace("\n", "")
    assert done.exit_code == 0 and visit.complete
    missing = f"One photo is not here yet. Drop it into {folder / 'photos'}, then: handsfree photos"
    assert (missing in said) is not dropped
    assert ("a.jpg: pictures/" in said) is dropped
    assert [photo.step for photo in visit.photos] == ["look"] * dropped
    assert verify(folder).whole
