"""handsfree controllers: the list, every fault of a file, the sheet, a new guide, a draft."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from handsfree.cli import main
from handsfree.controllers.guide_loader import SHIPPED, load_guide, shipped_guides
from handsfree.language.wording import languages

JOB = Path(__file__).parents[2] / "docs" / "examples" / "harbour-hall.job.toml"


def controllers(*arguments: str, typed: str | None = None) -> Result:
    return CliRunner().invoke(main, ["controllers", *arguments], input=typed)


def with_hands(tmp_path: Path, hands: tuple[str, str] = ("left", "right")) -> Path:
    """The job in the docs, with its motors known."""
    text = JOB.read_text(encoding="utf-8")
    for nth, hand in enumerate(hands, 1):
        known = f'number = {nth}\nhand = "{hand}"\nleaf = "{("left", "right")[nth - 1]}"'
        text = text.replace(f"number = {nth}", known)
    file = tmp_path / "known.job.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_those_that_ship_are_listed_and_sound():
    listed = controllers()
    assert listed.exit_code == 0
    for language in languages():
        for name in shipped_guides(language):
            assert load_guide(name, language).title in listed.output
            assert controllers("check", name, "--language", language).exit_code == 0


def test_every_fault_is_named_with_its_line(tmp_path):
    text = (SHIPPED / "en" / "heron.toml").read_text(encoding="utf-8")
    text = text.replace('name = "lock"', 'nam = "lock"').replace('"entry three"', '"entry 3"')
    text = text.replace('    { when = ["double_egress"], say = "eight", shows = "D8" },\n', "")
    file = tmp_path / "mine.toml"
    file.write_text(text, encoding="utf-8")
    result = controllers("check", str(file))
    assert result.exit_code == 2
    line = text.splitlines().index('called = "entry 3"') + 1
    assert f"line {line}: '3' in called" in result.output
    assert "'door-type' has no value for: a pair, double egress" in result.output


def test_the_sheet_has_every_entry_of_this_door_with_its_value(tmp_path):
    sheet = controllers("sheet", "heron", "--job", str(with_hands(tmp_path)))
    assert sheet.exit_code == 0
    rows = {line[:18].strip(): line[18:] for line in sheet.output.splitlines()[1:]}
    assert rows["entry three"].split() == ["hand", "of", "motor", "one", "one", "shows", "A1"]
    assert rows["entry four"].split() == ["hand", "of", "motor", "two", "four", "shows", "C4"]


def test_a_sheet_of_a_door_whose_hands_are_not_known_says_so_and_ends_with_1():
    sheet = controllers("sheet", "heron", "--job", str(JOB))
    assert sheet.exit_code == 1
    assert "? motor one is left hand" in sheet.output


@pytest.mark.slow
def test_the_printed_sheet_is_one_page_with_the_same_bytes_each_time(tmp_path):
    """Read back with pdftotext (poppler-utils), a general-purpose tool."""
    job = with_hands(tmp_path)
    pages = [tmp_path / f"{nth}.pdf" for nth in (1, 2)]
    for page in pages:
        assert controllers("sheet", "lantern", "--job", str(job), "--out", str(page)).exit_code == 0
    assert pages[0].read_bytes() == pages[1].read_bytes()
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not installed")
    text = subprocess.run(
        ["pdftotext", "-layout", str(pages[0]), "-"], capture_output=True, text=True, check=True
    ).stdout
    assert text.count("\f") == 1
    for told in ("menu three", "turns left", "YH1", "V21", "whiskey one"):
        assert told in text


def test_a_new_guide_is_asked_for_written_with_comments_and_sound(tmp_path):
    file = tmp_path / "new.toml"
    answers = [
        *("Box", "door type", "entry one", "one", "single", "d1", "two", "pair", "d2", ""),
        *("", "", "", "", "e4", "It failed.", ""),
    ]
    done = controllers("new", str(file), typed="\n".join(answers) + "\n")
    assert done.exit_code == 0, done.output
    assert controllers("check", str(file)).exit_code == 0
    guide = load_guide(file)
    assert guide.set_up[0].value[1].when == ("pair",)
    assert guide.code("E4") is not None
    assert file.read_text(encoding="utf-8").startswith("# The guide of a controller.")
    again = controllers("new", str(file), typed="\n")
    assert again.exit_code == 2 and "is there already" in again.output


def test_a_visit_without_a_guide_leaves_a_draft_behind(tmp_path):
    visit, lines = tmp_path / "visit", "go to settings\nentry three set to one\nentry 4 is 2\n"
    typed = lines + "the small key\nit shows E4\naffirm\ndone\n"
    run = CliRunner().invoke(
        main, ["visit", "--job", str(JOB), "--typed", "--out", str(visit)], input=typed
    )
    assert run.exit_code == 0, run.output
    file = tmp_path / "draft.toml"
    assert controllers("draft", str(visit), "--out", str(file)).exit_code == 0
    guide = load_guide(file)
    entries = [(step.called, [value.say for value in step.value]) for step in guide.set_up]
    assert entries == [("entry three", ["one"]), ("entry four", ["two"]), (None, [])]
    assert [code.shows for code in guide.codes] == ["E4"]
