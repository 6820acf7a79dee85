"""A typed visit with a sensor on the leaf, from the log in its folder to pack and record."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.job.finding import Verdict
from handsfree.job.reading import Taken
from handsfree.journal import events as ev
from handsfree.journal.motion_events import LeafMeasured
from handsfree.journal.reader import read, verify
from handsfree.reports.export import export_csv
from handsfree.reports.record_data import record_data
from handsfree.visit_record.load import load_record

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
LINES = {
    "en": ("done", "clear", "measure the left leaf", "affirm", "measure the left leaf"),
    "es": ("listo", "despejado", "mida la hoja izquierda", "afirmo", "mida la hoja izquierda"),
}


def run(*arguments: str, typed: str = "") -> tuple[int, str]:
    result = CliRunner().invoke(main, list(arguments), input=typed)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def a_visit(folder: Path, log: str, language: str = "en", lines: int = 5) -> str:
    """A leaf of 36 in and 150 lb by a scale, measured by one of the logs of the guide."""
    job = folder.parent / f"{language}.job.toml"
    known = 'name = "left"\nwidth = "36 in"\nweight = "150 lb"\nweight_source = "scale"'
    text = (EXAMPLES / "harbour-hall.job.toml").read_text(encoding="utf-8")
    text = text.replace('name = "left"', known, 1)
    job.write_text(text.replace('language = "en"', f'language = "{language}"'), encoding="utf-8")
    (folder / "motion").mkdir(parents=True)
    shutil.copy(EXAMPLES / log, folder / "motion" / "left leaf (1).csv")
    typed = "\n".join(LINES[language][:lines])
    return run("visit", "--job", str(job), "--typed", "--out", str(folder), typed=typed)[1]


def judged(folder: Path) -> dict[str, Verdict]:
    bodies = [event.body for event in read(folder)]
    found = [f for body in bodies if isinstance(body, ev.Judged) for f in body.findings]
    return {each.rule: each.verdict for each in found}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("log", "language", "verdict", "nothing_new"),
    [
        ("even-leaf.csv", "en", Verdict.PASS, "There is no new log"),
        ("hard-ramp-leaf.csv", "en", Verdict.FAIL, "There is no new log"),
        ("even-leaf.csv", "es", Verdict.PASS, "No hay ningún registro nuevo"),
        ("hard-ramp-leaf.csv", "es", Verdict.FAIL, "No hay ningún registro nuevo"),
    ],
)
def test_a_leaf_measures_itself(tmp_path, log, language, verdict, nothing_new):
    folder = tmp_path / "visit"
    said = " ".join(a_visit(folder, log, language).split())
    rules = judged(folder)
    assert rules["largest opening energy"] is verdict
    assert rules["largest closing energy"] is Verdict.PASS
    assert not {"opening energy", "closing energy", "energy beyond backcheck"} & set(rules)
    assert nothing_new in said
    assert verify(folder).whole


@pytest.fixture(scope="module")
def measured(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("measured") / "visit"
    a_visit(folder, "hard-ramp-leaf.csv")
    return folder


@pytest.mark.slow
def test_what_was_not_affirmed_is_asked_again_after_a_break(tmp_path):
    folder = tmp_path / "visit"
    a_visit(folder, "even-leaf.csv", lines=3)
    assert not [e for e in read(folder) if isinstance(e.body, ev.ReadingAccepted)]
    _, out = run("resume", str(folder), typed="affirm")
    assert "opening time three point eight four" in " ".join(out.split())
    accepted = [e.body.reading for e in read(folder) if isinstance(e.body, ev.ReadingAccepted)]
    assert len(accepted) == 6 and {each.taken for each in accepted} == {Taken.SENSOR}


@pytest.mark.slow
def test_a_log_that_is_none_is_told_of_and_nothing_is_filed(tmp_path):
    folder = tmp_path / "visit"
    a_visit(folder, "harbour-hall.job.toml")
    (body,) = [e.body for e in read(folder) if isinstance(e.body, LeafMeasured)][:1]
    assert body.problem and not [e for e in read(folder) if isinstance(e.body, ev.ReadingAccepted)]


@pytest.mark.slow
def test_summary_report_and_export_show_the_sensor_and_the_largest_energy(measured):
    summary = " ".join((measured / "summary.txt").read_text(encoding="utf-8").split())
    assert "3.78 s fail by a sensor" in summary
    assert "largest energy of the left leaf opening is too much: 2.04, limit 1.25" in summary
    assert "largest energy of the left leaf closing is 0.7, limit 1.25" in summary
    code, _ = run("report", str(measured), "--out", str(measured.parent / "report.html"))
    page = (measured.parent / "report.html").read_text(encoding="utf-8")
    assert code == 0 and "by a sensor on the leaf, log left leaf (1).csv" in page
    assert "Largest energy of the left leaf" in page
    record = load_record(measured)
    assert {item.now.log for item in record.readings} == {"left leaf (1).csv"}
    assert ",sensor," in export_csv(record)
    assert any("taken by a sensor on the leaf" in note for note in record_data(record)["notes"])


@pytest.mark.slow
def test_the_log_goes_with_the_visit_and_a_changed_one_is_noticed(measured, tmp_path):
    packed = tmp_path / "left.visit.zip"
    assert run("pack", str(measured), "--out", str(packed))[0] == 0
    assert run("unpack", str(packed), "--into", str(tmp_path / "there"))[0] == 0
    (log,) = (tmp_path / "there").glob("*/motion/*.csv")
    assert log.read_bytes() == (EXAMPLES / "hard-ramp-leaf.csv").read_bytes()
    log.write_bytes(log.read_bytes() + b"\n")
    code, out = run("verify", str(log.parents[1]))
    assert code != 0 and "is not the one that was measured" in out
    log.unlink()
    assert "is missing" in run("verify", str(log.parents[1]))[1]
