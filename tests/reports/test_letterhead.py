"""The letterhead of a company: from the settings, and invalid settings."""

from __future__ import annotations

import io

import pytest
from click.testing import CliRunner
from PIL import Image

from handsfree.cli import main
from handsfree.errors import SettingsError
from handsfree.reports.letterhead import MOST_LOGO_BYTES, letterhead_of, local_paper
from handsfree.settings import Settings

from ..ledger.visits import small_visit


def picture(kind: str) -> bytes:
    content = io.BytesIO()
    Image.new("RGB", (8, 6), "navy").save(content, kind)
    return content.getvalue()


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "GIF", "WEBP"])
def test_a_picture_is_a_logo(tmp_path, kind):
    file = tmp_path / "logo"
    file.write_bytes(picture(kind))
    assert letterhead_of(Settings(company_logo=file)).logo == picture(kind)


def test_a_logo_that_is_no_picture_is_one_line_and_exit_2(tmp_path, monkeypatch):
    folder = small_visit(tmp_path / "a")
    for name, content in (("text.png", b"no picture"), ("cut.png", picture("PNG")[:40])):
        (tmp_path / name).write_bytes(content)
        monkeypatch.setenv("HANDSFREE_COMPANY_LOGO", str(tmp_path / name))
        for command in ("record", "label"):
            run = CliRunner().invoke(main, [command, str(folder)])
            assert run.exit_code == 2 and run.stderr.count("\n") == 1
            assert f"{name}: the logo is not a picture" in run.stderr
            assert "name a PNG, JPEG, GIF, WebP or SVG picture" in run.stderr
    assert not (folder / "record.pdf").exists()


def test_a_logo_that_is_not_there_or_too_large_is_named(tmp_path):
    with pytest.raises(SettingsError, match="cannot be read: no such file"):
        letterhead_of(Settings(company_logo=tmp_path / "none.png"))
    large = tmp_path / "large.png"
    large.write_bytes(b"x" * (MOST_LOGO_BYTES + 1))
    with pytest.raises(SettingsError, match="larger than 2 MB"):
        letterhead_of(Settings(company_logo=large))


def test_the_paper_is_that_of_the_settings_else_of_the_place(monkeypatch):
    assert letterhead_of(Settings(paper="a4")).paper == "a4"
    assert [local_paper(each) for each in ("US", "MX", "CA", "DE", "GB")] == [
        *("letter", "letter", "letter", "a4", "a4")
    ]
    for named, paper in (("de_DE.UTF-8", "a4"), ("es_US.UTF-8", "letter"), ("C.UTF-8", "letter")):
        monkeypatch.setenv("LC_ALL", named)
        assert local_paper() == paper
