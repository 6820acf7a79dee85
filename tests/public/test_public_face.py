"""load_visit and check_door agree with the commands, and refuse what the commands refuse."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner

import handsfree
from handsfree.cli import main
from handsfree.journal.reader import JOURNAL
from handsfree.reports.summary import summary_of
from handsfree.visit_record.load import load_record

JOB = Path(__file__).parents[2] / "docs" / "examples" / "harbour-hall.job.toml"


@pytest.fixture
def folder(reviewed):
    return reviewed


def by_command(*options: str) -> dict:
    done = CliRunner().invoke(main, ["check", *options, "--json"])
    assert done.exit_code in (0, 1), done.output
    return json.loads(done.stdout)


def same(found: handsfree.DoorCheck, told: dict) -> None:
    assert found.line == told["line"]
    assert found.verdict == told["verdict"]
    assert list(found.not_read) == told["not_read"]
    assert len(found.findings) == len(told["findings"])
    for mine, theirs in zip(found.findings, told["findings"], strict=True):
        for name in ("subject", "rule", "verdict", "bound", "unit", "why", "advice", "source"):
            assert getattr(mine, name) == theirs[name]
        assert mine.required is (theirs["binding"] == "requirement")
        for name in ("reading", "limit"):
            value = getattr(mine, name)
            assert (None if value is None else str(value)) == theirs[name]


def test_a_single_leaf_is_checked_as_by_the_command():
    found = handsfree.check_door(
        {"leaf_width": "36in", "leaf_weight": "150lb", "opening_time": ["3.2", "3.6"]}
    )
    options = ("--width", "36in", "--weight", "150lb", "--opening", "3.2", "--opening", "3.6")
    same(found, by_command(*options))
    assert not found.passes


def test_a_pair_of_a_job_file_is_checked_as_by_the_command():
    found = handsfree.check_door(
        left={"opening_time": "4.1"},
        right={"opening_time": "4.3", "opening_force": "50N"},
        opening={"next_service": "12"},
        job=JOB,
        rule="simple",
    )
    told = by_command(
        *("--job", str(JOB), "--opening", "left:4.1", "--opening", "right:4.3"),
        *("--opening-force", "right:50N", "--next-service", "12", "--rule", "simple"),
    )
    same(found, told)


def test_a_limit_set_is_chosen_by_name():
    found = handsfree.check_door({"leaf_width": "914mm", "opening_time": "4"}, limits="en16005")
    assert found.limits == "en16005"
    same(found, by_command("--width", "914mm", "--opening", "4", "--limits", "en16005"))


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ({"leaf": {"opening_tme": "3"}}, "did you mean 'opening_time'?"),
        ({"leaf": {"next_service": "12"}}, "cannot be read here"),
        ({"leaf": {"leaf_width": "36"}}, "has no known unit"),
        ({"leaf": {"opening_time": "900"}}, "plausible is from 0.5 s to 20 s"),
        ({"leaf": {"opening_time": 4.1}}, "write it as '4.1'"),
        ({"leaf": {"opening_time": "4"}, "left": {"opening_time": "4"}}, "give left= and right="),
        ({"leaf": {"opening_time": "4"}, "job": JOB}, "give left= and right="),
        ({}, "nothing to check"),
        ({"leaf": {}}, "nothing to check"),
        ({"leaf": {"opening_time": "4"}, "limits": "nonsense"}, "no shipped limit set"),
        ({"left": {"opening_time": "4"}, "job": "nowhere.toml"}, "cannot be read"),
    ],
)
def test_wrong_input_is_one_clear_error(arguments, told):
    with pytest.raises(handsfree.HandsfreeError, match=told.replace("?", r"\?")):
        handsfree.check_door(**arguments)


def test_a_leaf_that_the_door_lacks_is_named(tmp_path):
    job = tmp_path / "single.toml"
    job.write_text(
        '[job]\nreference = "r"\nsite = "s"\ntechnician = "t"\n[opening]\nname = "o"\n'
        'seen_from = "here"\nswing = "single"\n[[leaf]]\nname = "left"\n'
        "[[motor]]\nnumber = 1\n",
        encoding="utf-8",
    )
    with pytest.raises(handsfree.HandsfreeError, match="no right leaf"):
        handsfree.check_door(right={"opening_time": "4"}, job=job)
    assert handsfree.check_door({"opening_time": "4"}, job=job).findings


def test_a_visit_tells_what_its_dossier_tells(folder):
    visit, record = handsfree.load_visit(folder), load_record(folder)
    assert visit.whole and visit.head == record.head
    assert (visit.reference, visit.verdict) == (record.sheet.reference, summary_of(record).verdict)
    assert visit.began.isoformat(timespec="seconds")[:19] == record.began[:19]
    assert visit.began.utcoffset() is not None
    assert [(r.subject, r.value) for r in visit.readings] == [
        (item.now.subject, item.now.value) for item in record.standing
    ]
    assert any(reading.amended for reading in visit.readings)
    assert {item.what for item in visit.open_items} == {item.what for item in record.open_items}
    assert visit.signed_by == record.sign_off.by
    assert all(isinstance(reading.value, Decimal) for reading in visit.readings)


def test_clips_lie_in_the_visits_folder(folder):
    clips = [r.clip for r in handsfree.load_visit(str(folder)).readings if r.clip is not None]
    assert clips
    assert all(clip.parent == folder / "clips" for clip in clips)


def test_a_broken_journal_loads_up_to_the_break(waiting, tmp_path):
    broken = tmp_path / "broken"
    shutil.copytree(waiting, broken)
    lines = (broken / JOURNAL).read_bytes().splitlines(keepends=True)
    (broken / JOURNAL).write_bytes(b"".join([*lines[:-3], b"{}\n", *lines[-2:]]))
    visit = handsfree.load_visit(broken)
    assert not visit.whole and visit.head is None and visit.signed_by is None
    assert visit.broken is not None and f"line {len(lines) - 2}" in visit.broken
    assert visit.reference


def test_no_visit_is_one_clear_error(tmp_path):
    with pytest.raises(handsfree.HandsfreeError, match="no journal here"):
        handsfree.load_visit(tmp_path)


def test_every_public_name_is_there_and_no_other():
    for name in handsfree.__all__:
        assert getattr(handsfree, name) is not None
        assert name in dir(handsfree)
    with pytest.raises(AttributeError, match="nonsense"):
        _ = handsfree.nonsense  # type: ignore[attr-defined]


@pytest.mark.slow
def test_a_check_and_a_visit_bring_in_no_sound():
    ask = (
        "import handsfree, sys; handsfree.check_door; handsfree.load_visit;"
        "print({'sounddevice', 'vosk', 'sqlalchemy', 'click'} & set(sys.modules))"
    )
    said = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "set()"


@pytest.mark.slow
def test_a_program_that_uses_it_is_type_checked(tmp_path):
    program = tmp_path / "program.py"
    program.write_text(
        "import handsfree\n"
        'found = handsfree.check_door({"opening_time": "4.1"})\n'
        'visit = handsfree.load_visit("my-visit")\n'
        "reveal_type(found.verdict)\nreveal_type(visit.readings[0].value)\n"
        "found.nonsense\n",
        encoding="utf-8",
    )
    mypy = [sys.executable, "-m", "mypy", "--strict", "--no-incremental", str(program)]
    said = subprocess.run(mypy, capture_output=True, text=True, check=False, cwd=tmp_path).stdout
    assert 'Revealed type is "handsfree.job.finding.Verdict | None"' in said.replace(
        "Union[handsfree.job.finding.Verdict, None]", "handsfree.job.finding.Verdict | None"
    )
    assert 'Revealed type is "decimal.Decimal"' in said or '"_decimal.Decimal"' in said
    assert '"DoorCheck" has no attribute "nonsense"' in said
