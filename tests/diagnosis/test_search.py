"""A search goes from check to check, ends in a cause or without one, and can go back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.diagnosis.search import (
    DONE,
    SKIP,
    answer,
    back,
    begin,
    choices,
    longest_path,
    phase,
)
from handsfree.diagnosis.search_tree import Cause
from handsfree.diagnosis.tree_loader import load_tree, shipped_trees
from handsfree.errors import BadValue

from ..bench.search import doors

JOBS = doors()


def test_the_latching_speed_of_a_slam_is_found_and_proved():
    tree, job = load_tree("slams"), JOBS["single"]
    search = begin(tree, job)
    for said in ("end", "yes", "no"):
        search = answer(tree, job, search, said)
    assert search.cause == "latching-speed-too-high"
    assert answer(tree, job, search, SKIP).outcome == "left"
    remedied = answer(tree, job, search, DONE)
    assert remedied.outcome is None
    assert answer(tree, job, remedied, "yes").outcome == "cured"
    assert answer(tree, job, remedied, "no").outcome == "not_cured"


def test_a_remedy_that_ends_with_the_learn_cycle_waits_for_it_before_the_proof():
    tree, job = load_tree("learn-ends-in-error"), JOBS["pair"]
    search = begin(tree, job)
    for said in ("no", "no"):
        search = answer(tree, job, search, said)
    cause = tree.node(search.at)
    assert isinstance(cause, Cause) and cause.learn
    waits = [phase(cause, search)]
    for _ in range(2):
        assert choices(tree, search) == (DONE, SKIP)
        search = answer(tree, job, search, DONE)
        waits.append(phase(cause, search))
    assert waits == ["remedy", "learn", "prove"]
    assert answer(tree, job, search, "yes").outcome == "cured"


def test_a_check_of_what_the_door_does_not_have_is_passed_over():
    tree = load_tree("reverses")
    asked = {}
    for door, job in JOBS.items():
        search = answer(tree, job, begin(tree, job), "opens")
        asked[door] = answer(tree, job, search, "yes").at
    assert asked == {
        "single": "stops-in-still-air",
        "pair": "opening-sensor-quiet",
        "magnet": "stops-in-still-air",
    }


def test_a_check_that_cannot_be_done_ends_the_search_without_a_cause():
    tree, job = load_tree("slams"), JOBS["single"]
    search = answer(tree, job, begin(tree, job), SKIP)
    assert (search.cause, search.outcome) == (None, "not_found")


@pytest.mark.parametrize("said", ["yes", "left", ""])
def test_another_word_is_no_answer(said):
    tree, job = load_tree("slams"), JOBS["single"]
    with pytest.raises(BadValue, match="all_way, end"):
        answer(tree, job, begin(tree, job), said)


def test_a_search_that_has_ended_takes_no_answer():
    tree, job = load_tree("slams"), JOBS["single"]
    ended = answer(tree, job, begin(tree, job), SKIP)
    with pytest.raises(BadValue, match="ended"):
        answer(tree, job, ended, "end")


@pytest.mark.slow
@given(st.sampled_from(shipped_trees()), st.sampled_from(list(JOBS)), st.data())
def test_every_search_ends_and_can_go_back(name, door, data):
    tree, job = load_tree(name), JOBS[door]
    search = begin(tree, job)
    for _ in range(longest_path(tree) + 3):
        if search.outcome is not None:
            break
        said = data.draw(st.sampled_from([s for s in choices(tree, search) if s != SKIP]))
        after = answer(tree, job, search, said)
        if after.outcome is None and said != DONE:
            assert back(tree, job, after) == search
        search = after
    assert search.outcome in ("cured", "not_cured")
    assert len(search.trail) <= longest_path(tree)
