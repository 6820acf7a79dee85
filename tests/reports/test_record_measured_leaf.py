"""A leaf that a sensor measured, in the record's table of what was wrong."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.reports.printed_words import printed_words
from handsfree.reports.record_problems import problems_of
from handsfree.visit_record.load import load_record
from tests.motion.demo_log import EXAMPLES

LINES = (
    *("left leaf width thirty six inches", "affirm", "left leaf weight one hundred fifty pounds"),
    *("affirm", "measure the left leaf", "affirm"),
)


@pytest.mark.slow
def test_an_energy_that_fails_is_told_as_an_energy_and_not_as_the_time(tmp_path: Path) -> None:
    visit = tmp_path / "visit"
    job = EXAMPLES / "harbour-hall.job.toml"
    begun = ["visit", "--typed", "--job", str(job), "--out", str(visit)]
    assert CliRunner().invoke(main, begun, input="done").exit_code == 0
    (visit / "motion").mkdir()
    shutil.copy(EXAMPLES / "hard-ramp-leaf.csv", visit / "motion" / "left.csv")
    gone_on = ["resume", "--typed", str(visit)]
    assert CliRunner().invoke(main, gone_on, input="\n".join(LINES)).exit_code == 0
    problems = problems_of(load_record(visit), printed_words("en"), None)
    (energy,) = [each for each in problems if "largest opening energy" in each.what]
    assert "2.04 lbf ft" in energy.about and "3.78 s" not in energy.about
