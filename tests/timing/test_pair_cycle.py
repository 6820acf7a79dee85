"""Two leaves in one cycle: every mark gets a leaf and a moment by its words, or is a problem."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.timing.cycle import WORDS, Label
from handsfree.timing.pair_cycle import pair_cycle_of
from tests.timing.test_cycle import SIX_S, marks_at, spoken_at

LEFT, RIGHT = Subject.LEFT_LEAF, Subject.RIGHT_LEAF
LATER_S = 0.9
GAP_S = 0.5


def said(later_s: float = LATER_S) -> list[tuple[float, str, Subject]]:
    """Twelve marks: the right leaf does everything some time after the left one."""
    left = [(at, word, LEFT) for at, word in zip(SIX_S, WORDS, strict=True)]
    right = [(at + later_s, word, RIGHT) for at, word in zip(SIX_S, WORDS, strict=True)]
    return sorted(left + right, key=lambda each: each[0])


def heard(what: list[tuple[float, str, Subject]]):
    labels = [Label(word=word, start_s=at + 0.05, leaf=leaf) for at, word, leaf in what]
    return pair_cycle_of(marks_at(*(at for at, _, _ in what)), labels, GAP_S)


def test_twelve_named_marks_are_two_whole_cycles():
    pair = heard(said())

    assert not pair.all_problems
    for leaf in (LEFT, RIGHT):
        taken = {each.quantity: each.seconds for each in pair.cycles[leaf].intervals}
        assert taken[Quantity.OPENING_TIME] == pytest.approx(3.5, abs=1e-4)
        assert taken[Quantity.LATCHING_TIME] == pytest.approx(1.75, abs=1e-4)


def test_a_mark_without_words_is_given_to_no_leaf():
    all_said = said()
    labels = [Label(word=word, start_s=at, leaf=leaf) for at, word, leaf in all_said[1:]]

    pair = pair_cycle_of(marks_at(*(at for at, _, _ in all_said)), labels, GAP_S)

    assert [str(problem) for problem in pair.all_problems] == [
        "the marks at 1.00 s name no leaf and moment",
        "left leaf: no mark for: starts to move",
    ]


@pytest.mark.parametrize("lost", range(12))
def test_what_was_said_and_not_understood_is_what_the_others_leave(lost: int):
    all_said = said()
    labels = [Label(word=word, start_s=at, leaf=leaf) for at, word, leaf in all_said]
    _, word, leaf = all_said[lost]
    del labels[lost]
    marks = spoken_at(*(at for at, _, _ in all_said), clatter_s=(9.0,))

    pair = pair_cycle_of(marks, labels, GAP_S)

    (problem,) = pair.all_problems
    assert (problem.kind, problem.leaf, problem.moments) == ("misheard", leaf, (WORDS[word],))
    assert len(pair.cycles[leaf].placed) == 6
    assert pair.all_problems


@pytest.mark.slow
@given(st.sets(st.integers(0, 11), min_size=2, max_size=2))
def test_of_two_that_were_not_understood_none_is_given_to_the_wrong_leaf(lost: set[int]):
    """Where each may be of either leaf, both are left to none."""
    all_said = said()
    labels = [
        Label(word=word, start_s=at, leaf=leaf)
        for nth, (at, word, leaf) in enumerate(all_said)
        if nth not in lost
    ]

    pair = pair_cycle_of(spoken_at(*(at for at, _, _ in all_said)), labels, GAP_S)

    one, other = (all_said[nth] for nth in sorted(lost))
    if pair.problems:
        assert [problem.kind for problem in pair.problems] == ["unnamed"]
        assert one[2] is not other[2]
        return
    assert one[1] != other[1]
    placed = {
        (leaf, each.moment, round(each.mark.at_s, 3))
        for leaf, cycle in pair.cycles.items()
        for each in cycle.placed
    }
    assert placed == {(leaf, WORDS[word], round(at, 3)) for at, word, leaf in all_said}
    assert {problem.kind for problem in pair.all_problems} == {"misheard"}


def test_two_that_were_not_understood_may_be_of_one_leaf_each():
    all_said = said()
    labels = [Label(word=word, start_s=at, leaf=leaf) for at, word, leaf in all_said[1:-1]]

    pair = pair_cycle_of(spoken_at(*(at for at, _, _ in all_said)), labels, GAP_S)

    told = [(problem.leaf, problem.moments) for problem in pair.all_problems]
    assert told == [(LEFT, (WORDS["go"],)), (RIGHT, (WORDS["shut"],))]


def test_one_that_was_not_understood_beside_one_that_was_taken_for_another():
    """'Right shut' as nothing, and 'left shut' as 'left check': a voice that says both alike."""
    all_said = said()
    labels = [Label(word=word, start_s=at, leaf=leaf) for at, word, leaf in all_said[:-1]]
    labels[-1] = labels[-1].model_copy(update={"word": "check"})

    pair = pair_cycle_of(spoken_at(*(at for at, _, _ in all_said)), labels, GAP_S)

    told = [(problem.kind, problem.leaf, problem.moments) for problem in pair.all_problems]
    assert told == [("misheard", leaf, (WORDS["shut"],)) for leaf in (LEFT, RIGHT)]


def test_a_mark_that_was_not_said_is_left_to_no_leaf():
    all_said = said()
    labels = [Label(word=word, start_s=at, leaf=leaf) for at, word, leaf in all_said[:-1]]
    at_s = [at for at, _, _ in all_said]

    pair = pair_cycle_of(spoken_at(*at_s[:-1], clatter_s=(at_s[-1],)), labels, GAP_S)

    assert pair.problems[0].kind == "unnamed"


def test_a_word_without_its_leaf_names_nothing():
    all_said = said()
    labels = [Label(word=word, start_s=at, leaf=leaf) for at, word, leaf in all_said]
    labels[3] = labels[3].model_copy(update={"leaf": None})

    pair = pair_cycle_of(marks_at(*(at for at, _, _ in all_said)), labels, GAP_S)

    assert pair.problems[0].kind == "unnamed"


def test_marks_that_are_too_near_are_a_question():
    pair = heard(said(later_s=0.4))

    assert pair.all_problems
    assert {problem.kind for problem in pair.problems} == {"too near"}


def test_two_names_at_one_mark_are_too_near():
    """Both leaves pass a moment together, and the two names run into one sound."""
    marks = marks_at(*SIX_S)
    labels = [
        Label(word=word, start_s=at + late, leaf=leaf)
        for at, word in zip(SIX_S, WORDS, strict=True)
        for late, leaf in ((0.0, LEFT), (0.3, RIGHT))
    ]

    pair = pair_cycle_of(marks, labels, GAP_S)

    assert [problem.kind for problem in pair.problems] == ["too near"] * 6
    assert str(pair.problems[0]).startswith("too close together to be told apart, at 1.00 s")


def test_what_is_wrong_with_a_leaf_says_which():
    missing = [each for each in said() if each[1:] != ("check", RIGHT)]

    (problem,) = heard(missing).all_problems

    assert str(problem) == "right leaf: no mark for: backcheck or 80 degrees"


@given(st.sets(st.integers(0, 11)))
def test_named_marks_never_land_at_the_other_leaf(left_out: set[int]):
    kept = [each for nth, each in enumerate(said()) if nth not in left_out]

    pair = heard(kept)

    for leaf in (LEFT, RIGHT):
        mine = {(round(placed.mark.at_s, 3), placed.word) for placed in pair.cycles[leaf].placed}
        assert mine == {(round(at, 3), word) for at, word, who in kept if who is leaf}
