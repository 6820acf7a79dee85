"""Text that reaches a terminal, and a terminal that no longer accepts output."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import unicodedata
from contextlib import suppress
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from handsfree.cli import main
from handsfree.cli.console import new_console
from handsfree.cli.terminal import shown, wrapped
from handsfree.cli.transcript import Conversation
from handsfree.errors import DisplayError
from handsfree.journal import events as ev
from handsfree.language.wording import wording
from handsfree.visit_record.glance import LiveState

ROOT = Path(__file__).parents[2]
JOB = ROOT / "docs" / "examples" / "harbour-hall.job.toml"
# Direction characters: Unicode Standard Annex 9 (memory). Escape sequences begin with ESC or CSI
# (ECMA-48, memory).
DIRECTIONS = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
EVIL = (
    "\x1b]0;owned\x07",
    "\x9b2J",
    "\u202egpj.exe",
    "\u2066x",
    "\r\b",
    "\u2028",
    "\x7f",
    "\ud800",
)


@pytest.mark.parametrize("text", EVIL)
def test_no_control_or_direction_character_is_printed_raw(text: str) -> None:
    assert shown(text).isprintable()


@pytest.mark.slow
@given(st.text())
def test_no_text_at_all_commands_a_terminal(text: str) -> None:
    told = shown(text)
    assert not any(
        unicodedata.category(c) == "Cc" for c in told.replace("\n", "").replace("\t", "")
    )
    assert not any(unicodedata.bidirectional(c) in DIRECTIONS for c in told)


@pytest.mark.slow
@given(st.text(st.characters(categories=["L", "N", "P"])))
def test_words_stay_as_they_are(text: str) -> None:
    assert shown(text) == text


def test_a_console_shows_styles_and_no_commands_of_a_text() -> None:
    out = io.StringIO()
    new_console(file=out, force_terminal=True, color_system="standard").print(
        "[bold]\x1b]0;owned\x07", markup=True
    )
    assert "owned" in out.getvalue()
    assert "\x1b]0" not in out.getvalue() and "\x07" not in out.getvalue()
    assert "\x1b[1m" in out.getvalue()  # bold is ours


def run(words: list[str], lines: str = "", **options: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "handsfree", *words],
        input=lines,
        text=True,
        stderr=subprocess.PIPE,
        cwd=ROOT,
        timeout=120,
        **options,
    )


VISIT = ["visit", "--typed", "--job", str(JOB), "--out"]


@pytest.mark.slow
def test_a_closed_input_is_one_line(tmp_path: Path) -> None:
    script = f"{sys.executable} -m handsfree visit --typed --job {JOB} --out {tmp_path / 'v'} <&-"
    done = subprocess.run(["sh", "-c", script], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 2
    assert "lines cannot be typed" in done.stderr and done.stderr.count("\n") == 1


@pytest.mark.slow
def test_a_name_of_300_characters_is_one_line(tmp_path: Path) -> None:
    for words in (
        [*VISIT, "x" * 300],
        ["summary", "x" * 300],
        ["ledger", "add", "--url", f"sqlite:///{tmp_path / 'l.db'}", "x" * 300],
    ):
        done = run(words, stdout=subprocess.PIPE)
        assert done.returncode == 2
        assert "file name too long" in done.stderr and "Traceback" not in done.stderr


@pytest.mark.slow
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full on this system")
def test_output_on_a_full_disk_is_one_line_and_the_visit_is_kept(tmp_path: Path) -> None:
    with Path("/dev/full").open("w") as full:
        done = run([*VISIT, str(tmp_path / "v")], "done\n", stdout=full)
        assert done.returncode == 2
        assert "can no longer be shown: no space left on device" in done.stderr
        assert "Traceback" not in done.stderr
        done = run(["limits"], stdout=full)
        assert done.returncode == 2 and "cannot be written: no space left" in done.stderr
    assert (tmp_path / "v" / "journal.jsonl").stat().st_size


@pytest.mark.slow
def test_output_that_nobody_reads_any_more_is_one_line(tmp_path: Path) -> None:
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "w") as closed:
        done = run([*VISIT, str(tmp_path / "v")], "done\n", stdout=closed)
        assert done.returncode == 2 and "the reader has ended" in done.stderr
        assert run(["limits"], stdout=closed).returncode == 141


SAID = ev.Said(text="Step one.", role="prompt", aloud=True, seconds=Decimal("1.0"))


class Broken(io.StringIO):
    def write(self, text: str) -> int:
        raise BrokenPipeError(32, "Broken pipe")


def test_a_visit_that_is_heard_outlives_its_display() -> None:
    event = ev.Event(seq=1, at="2026-03-04T09:15:02.120Z", body=SAID, prev="0" * 64)
    for console in (new_console(file=Broken()), Console(file=io.StringIO())):
        Conversation(console, wording("en"))(event)
    with pytest.raises(DisplayError, match=r"the reader has ended|broken pipe"):
        Conversation(new_console(file=Broken()), wording("en"), needed=True)(event)


@pytest.mark.slow
@pytest.mark.parametrize("encoding", ["ascii", "cp437", "cp1252", "latin-1"])
def test_another_code_page_ends_in_no_traceback(tmp_path: Path, encoding: str) -> None:
    job = tmp_path / "a.job.toml"
    site = "Hafenhalle \u017b\u00f3\u0142\u0107 \u6e2f"
    job.write_text(JOB.read_text().replace("Harbour Hall", site), "utf-8")
    environment = {**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    done = run(
        ["visit", "--typed", "--job", str(job), "--out", str(tmp_path / "v")],
        "h\u00e9llo\n",
        stdout=subprocess.DEVNULL,
        env=environment,
    )
    assert (done.returncode, "Traceback" in done.stderr) == (0, False), done.stderr
    if encoding != "ascii":
        return  # it writes all that ASCII does
    for words in (["summary", str(tmp_path / "v")], ["limits"], ["verify", str(tmp_path / "v")]):
        done = run(words, stdout=subprocess.DEVNULL, env=environment)
        assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.slow
def test_whatever_is_written_is_its_owners_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    visit, before = tmp_path / "there" / "visit", os.umask(0o022)
    try:
        for words in (
            ["visit", "--typed", "--job", str(JOB), "--out", str(visit)],
            ["report", str(visit)],
            ["record", str(visit)],
            ["pack", str(visit)],
            ["unpack", "visit.visit.zip", "--into", str(tmp_path / "taken")],
            ["ledger", "add", str(visit), "--url", f"sqlite:///{tmp_path}/ledger/all.sqlite"],
        ):
            result = CliRunner().invoke(main, words, input="done\n")
            assert result.exit_code == 0, result.output
        assert os.umask(0o022) == 0o022  # as it was
    finally:
        os.umask(before)
    made = list(tmp_path.rglob("*"))
    assert {"summary.txt", "report.html", "record.pdf", "visit.visit.zip", "all.sqlite"} <= {
        path.name for path in made
    }
    for path in made:
        assert path.stat().st_mode & 0o777 == (0o700 if path.is_dir() else 0o600), path


def test_what_is_printed_as_json_is_the_same_json_with_codes_for_what_commands() -> None:
    for text in (*EVIL, "\U000e0041 tag", "plain"):
        assert json.loads(shown(json.dumps(text, ensure_ascii=False))) == text


@pytest.mark.slow
def test_an_export_on_a_terminal_commands_it_not_and_elsewhere_is_untouched(tmp_path: Path) -> None:
    visit, job = tmp_path / "visit", tmp_path / "evil.job.toml"
    job.write_text(JOB.read_text().replace("R. Almeda", "R. \u202eAlmeda\u202c"), encoding="utf-8")
    words = ["visit", "--typed", "--job", str(job), "--out", str(visit)]
    assert CliRunner().invoke(main, words, input="done\n").exit_code == 0
    command = [sys.executable, "-m", "handsfree", "export", str(visit)]
    piped = subprocess.run(command, cwd=ROOT, capture_output=True, check=True).stdout.decode()
    assert "\u202e" in piped
    ours, theirs = os.openpty()
    with subprocess.Popen(command, cwd=ROOT, stdout=theirs) as process:
        os.close(theirs)
        told = b""
        with suppress(OSError):  # how a terminal says that nobody writes any more
            while part := os.read(ours, 1 << 16):
                told += part
    os.close(ours)
    assert process.returncode == 0
    assert "\u202e" not in told.decode() and "\\u202e" in told.decode()
    assert json.loads(told) == json.loads(piped)


@pytest.mark.parametrize("width", [20, 40, 90])
def test_a_message_is_broken_between_words_and_keeps_its_lines(width):
    text = "The prompts are printed only, without a loudspeaker.\n\n  /a/very/long/path/of/a/file"
    lines = wrapped(text, width).split("\n")
    assert " ".join(text.split()) == " ".join(" ".join(lines).split())
    assert all(len(line) <= width or " " not in line.strip() for line in lines)
    assert "" in lines and lines[-1].endswith("/a/very/long/path/of/a/file")


def test_words_that_are_kept_are_no_miss_in_the_panel():
    state = LiveState()
    for seq, body in enumerate(
        [
            ev.Heard(text="the frame is bent", meaning=None),
            ev.NoteKept(step_key=None, text="the frame is bent", clip=None),
        ],
        1,
    ):
        state.apply(ev.Event(seq=seq, at="2026-03-04T09:15:02.120Z", body=body, prev="0" * 64))
        assert state.glance.understood is (seq == 2)
