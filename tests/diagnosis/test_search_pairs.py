"""Two faults in one door: each search names one of them, and none that is not there is cured."""

from __future__ import annotations

import re
import statistics
from pathlib import Path

import pytest

from handsfree.diagnosis.tree_loader import load_tree, shipped_trees
from handsfree.rehearsal.door_faults import FAULTS

from ..bench.search import doors
from ..bench.search_pairs import all_pairs, fewest_of, walk

TEXT = (Path(__file__).parents[2] / "docs" / "search.md").read_text(encoding="utf-8")

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def walks():
    return all_pairs()


@pytest.fixture(scope="module")
def searches(walks):
    return [searched for walked in walks for searched in walked.searches]


def test_a_right_cause_is_named_in_95_percent_of_the_searches(walks, searches):
    assert {walked.tree for walked in walks} == set(shipped_trees())
    assert len({fault for walked in walks for fault in walked.faults}) == len(FAULTS)
    assert sum(searched.right for searched in searches) >= 0.95 * len(searches)
    assert not [searched for searched in searches if searched.cured and not searched.right]


def test_a_search_takes_at_most_twice_the_checks_that_a_search_by_information_would(
    walks, searches
):
    took = statistics.median(searched.checks for searched in searches)
    assert took <= 2 * statistics.median(fewest_of(walks))


def test_a_complaint_with_two_reasons_takes_two_searches():
    job = doors()["pair"]
    faults = ("latching-speed-too-high", "closer-lets-go")
    walked = walk(load_tree("slams"), "pair", job, faults)
    assert walked is not None and walked.cured
    assert [searched.cured for searched in walked.searches] == [False, True]
    assert {searched.cause for searched in walked.searches} == set(faults)


def test_the_numbers_of_the_docs_are_those_of_the_bench(walks, searches):
    table = TEXT.partition("### Two faults at once")[2]
    rows = dict(re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", table, re.MULTILINE))
    right = sum(searched.right for searched in searches)
    assert rows["doors with two faults, each with a complaint"] == f"{len(walks):,}"
    assert rows["searches of two"] == f"{len(searches):,}"
    share = 100 * right / len(searches)
    assert rows["a right cause of two named"] == f"{right:,} ({share:.1f} %)"
    assert rows["the complaint gone after three searches at most"] == (
        f"{sum(walked.cured for walked in walks):,}"
    )
    assert rows["a wrong cause of two that counted as cured"] == "0"
    checks = [searched.checks for searched in searches]
    assert rows["checks, of two: median, worst"] == f"{statistics.median(checks):g}, {max(checks)}"
    assert rows["fewest by information, if the cause were alone: median"] == (
        f"{statistics.median(fewest_of(walks)):g}"
    )
