"""docs/search.md is complete and true: every tree, its picture, a valid example, the numbers."""

from __future__ import annotations

import re
import statistics
from pathlib import Path

import pytest

from handsfree.diagnosis.tree_loader import faults_of, load_tree, shipped_trees
from handsfree.diagnosis.tree_svg import tree_svg
from handsfree.dialogue.state import State
from handsfree.job.opening import Swing
from handsfree.procedure.loader import load_procedure
from handsfree.rehearsal.door_faults import FAULTS

from ..bench.search import all_walks
from ..dialogue.technician import answer_to, opening, walk

DOCS = Path(__file__).parents[2] / "docs"
TEXT = (DOCS / "search.md").read_text(encoding="utf-8")


def test_every_tree_is_listed_with_its_title():
    listed = re.findall(r"^\| `([\w-]+)` \| ([^|]+) \|", TEXT, re.MULTILINE)
    assert listed == [(name, load_tree(name).title) for name in shipped_trees()]
    assert f"There are {len(shipped_trees())} trees" in TEXT


def test_the_pictures_are_those_of_the_files():
    """Rebuilt by: handsfree search draw NAME --out docs/pictures/search/NAME.svg"""
    for name in shipped_trees():
        picture = DOCS / "pictures" / "search" / f"{name}.svg"
        assert picture.read_text(encoding="utf-8") == tree_svg(load_tree(name)), name


def test_the_example_is_sound(tmp_path):
    file = tmp_path / "squeaks.toml"
    file.write_text(re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)[0], encoding="utf-8")
    assert faults_of(file) == ()


def test_a_failed_learn_cycle_goes_as_the_transcript_says(language):
    """The lines of the transcript are typed at the learn cycle of a shipped procedure."""
    told = TEXT.partition("A failed learn cycle that is led to crossed motors")[2]
    block = re.sub(r"\n {10}", " ", told.split("```")[1])  # a line that goes on
    lines = re.findall(r"^ +(heard|tool) +(.+)$", block, re.MULTILINE)
    heard = [text for who, text in lines if who == "heard"]
    spoken = [text for who, text in lines if who == "tool"]

    def answer(state: State) -> str:
        at_learn = state.progress.at == "learn-complete" or state.progress.search is not None
        return heard.pop(0) if heard and at_learn else answer_to(state, "slams")

    door = opening(Swing.SAME_WAY, everything=False)
    said = walk(language, load_procedure("controller-replaced-pair"), door, answer).said
    begins = said.index(spoken[0])
    assert said[begins : begins + len(spoken)] == spoken


@pytest.mark.slow
def test_the_numbers_are_those_of_the_bench():
    walks = all_walks()
    rows = dict(re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", TEXT, re.MULTILINE))
    checks = [walked.checks for walked in walks]
    assert rows["searches"] == str(len(walks))
    assert rows["right cause named"] == str(sum(walked.right for walked in walks))
    assert rows["checks: median, worst"] == f"{statistics.median(checks):g}, {max(checks)}"
    fewest = statistics.median(walked.fewest for walked in walks)
    assert (
        rows["the same with the largest information gain at every check: median"] == f"{fewest:g}"
    )
    assert f"{len(FAULTS)} faults of its parts" in TEXT
