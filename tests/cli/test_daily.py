"""Starting the daily walk: its address, its visit, and its error messages."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import httpx
import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.visit_record.load import load_record

from ..daily.test_app import hidden
from ..daily.test_walk import KNOWN


@pytest.mark.slow
def test_it_prints_its_address_and_keeps_a_visit_that_only_its_owner_reads(tmp_path, monkeypatch):
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "lobby.job.toml").write_text(KNOWN, encoding="utf-8")
    process = subprocess.Popen(
        [sys.executable, "-m", "handsfree", "daily", "lobby", "--port", "0"],
        cwd=tmp_path,
        env=os.environ | {"HANDSFREE_CACHE": str(tmp_path / "cache")},
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    try:
        line = process.stdout.readline()
        found = re.fullmatch(
            r"The daily walk of lobby door is open: (http://127\.0\.0\.1:\d+/\?token=\S{20,})\n",
            line,
        )
        assert found, line
        assert process.stdout.readline() == "Ctrl+C ends it.\n"
        with httpx.Client(follow_redirects=True, timeout=60) as web:
            page = web.get(found[1]).text
            assert "lobby door" in page
            here = found[1].partition("?")[0]
            form = {"csrf": hidden(page, "csrf"), "name": "Dana Ruiz"}
            assert "Step 1" in web.post(f"{here}begin", data=form).text
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(timeout=60)
        process.stdout.close()
    assert process.returncode == 0
    (folder,) = (tmp_path / "visits").iterdir()
    assert folder.name.startswith("lobby-door-daily-")
    assert not load_record(folder).complete
    for path in (folder, folder / "journal.jsonl"):
        assert path.stat().st_mode & 0o077 == 0

    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, ["resume", str(folder), "--typed"], input="in order\naffirm\n")
    assert done.exit_code == 0, done.output
    assert "Way clear, OK." in done.output


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["nowhere"], "there is no door 'nowhere'"),
        (["a.job.toml", "--language", "fr"], "there is no language 'fr'"),
    ],
)
def test_bad_input_is_named(tmp_path, monkeypatch, arguments, why):
    monkeypatch.chdir(tmp_path)
    Path("a.job.toml").write_text(KNOWN, encoding="utf-8")
    done = CliRunner().invoke(main, ["daily", *arguments])
    assert done.exit_code == 2 and why in done.output
    assert not Path("visits").exists()
