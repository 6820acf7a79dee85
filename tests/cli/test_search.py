"""handsfree search: listed, walked at the keyboard, checked and drawn."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.diagnosis.tree_loader import SHIPPED, shipped_trees

JOB = str(Path(__file__).parents[2] / "docs" / "examples" / "harbour-hall.job.toml")


def run(*args, typed=None):
    return CliRunner().invoke(main, ["search", *args], input=typed)


def test_all_trees_are_listed():
    done = run()
    assert done.exit_code == 0
    assert all(name in done.output for name in shipped_trees())


def test_a_cause_that_is_found_and_proved_ends_well():
    done = run("start", "slams", "--job", JOB, typed="the end\nyes\nno\ndone\nyes\n")
    assert done.exit_code == 0
    assert "Cured and proved: The latching speed is set too high." in done.output


@pytest.mark.parametrize(
    "typed", ["the end\nyes\nno\ndone\nno\n", "the end\nyes\nno\nskip\n", "skip\n", "stop\n", ""]
)
def test_a_fault_that_is_left_ends_in_exit_code_1(typed):
    done = run("start", "slams", "--job", JOB, typed=typed)
    assert done.exit_code == 1
    assert "Cured" not in done.output


def test_what_is_left_to_do_is_said_when_the_cause_is_not_found():
    done = run("start", "slams", "--job", JOB, typed="skip\n")
    assert "Cause not found." in done.output and "tag it" in done.output


def test_a_caution_wants_its_word_before_the_check():
    done = run("start", "slams", "--job", JOB, typed="all the way\nyes\nclear\nyes\nstop\n")
    caution, question = done.output.index("CAUTION"), done.output.index("Does it close slowly?")
    assert done.output.index("I need: clear") > caution
    assert question > done.output.index("I need: clear")


def test_a_learn_cycle_is_run_again_after_its_caution_only():
    typed = "no\nno\ndone\ndone\nclear\ndone\nyes\n"
    done = run("start", "learn-ends-in-error", "--job", JOB, typed=typed)
    caution = done.output.index("CAUTION: The sensors are inactive during the learn cycle.")
    assert done.output.index("I need: clear") > caution
    assert done.output.index("Run the learn cycle again.") > done.output.index("I need: clear")
    assert done.exit_code == 0 and "Cured and proved" in done.output


def test_why_explains_and_back_asks_again():
    done = run("start", "slams", "--job", JOB, typed="the end\nwhy\nback\nstop\n")
    assert "Air drawn through the gap" in done.output
    assert done.output.count("Is it fast all the way shut") == 2


def test_a_file_of_ones_own_is_checked_line_by_line(tmp_path):
    tree = tmp_path / "mine.toml"
    text = (SHIPPED / "en" / "slams.toml").read_text(encoding="utf-8")
    tree.write_text(text, encoding="utf-8")
    assert run("check", str(tree)).output.endswith("4 checks at most\n")
    tree.write_text(text.replace('effort = "look"', 'effort = "listen"', 1), encoding="utf-8")
    done = run("check", str(tree))
    assert done.exit_code == 2 and "line 10" in done.output


def test_a_tree_is_drawn_into_a_file(tmp_path):
    out = tmp_path / "slams.svg"
    assert run("draw", "slams", "--out", str(out)).exit_code == 0
    assert out.read_text(encoding="utf-8").startswith("<svg")


def test_a_tree_that_is_not_there_is_one_line():
    done = run("start", "flies-away", "--job", JOB)
    assert done.exit_code == 2 and done.output.count("\n") == 1
