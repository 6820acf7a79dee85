"""The sizes of the second leaf, asked by those of the first: 'Right leaf the same?'

The way of asking is our own choice, no published source.
"""

from __future__ import annotations

import pytest

from handsfree.dialogue.grouped_steps import group_at
from handsfree.dialogue.known_values import is_of_other_leaf
from handsfree.job.closed_lists import Confirm
from handsfree.job.opening import Side, Swing
from handsfree.job.quantity import Quantity
from handsfree.job.unit import Measure, Unit
from handsfree.journal import events as ev
from handsfree.language.interpreter import Language

from ..talk import Talk
from .technician import answer_to, walked_to

ASKED = (
    "Right leaf the same: thirty six inches by eighty four inches, one hundred twenty pounds, "
    "weight from label? Say yes, or no to go one by one."
)
SIZES = (Quantity.LEAF_WIDTH, Quantity.LEAF_HEIGHT, Quantity.LEAF_WEIGHT)


def at_right_leaf(
    language: Language,
    *,
    procedure: str = "yearly-service",
    swing: Swing = Swing.SAME_WAY,
    confirm: Confirm = "doubtful",
    at: str = "width:right leaf",
) -> Talk:
    """At the width of the right leaf, or another step of it, after the left leaf was measured."""
    return walked_to(language, at, procedure=procedure, swing=swing, confirm=confirm)


def of_right_leaf(talk: Talk) -> list[tuple[Quantity, str, bool, str]]:
    """The readings of the right leaf: quantity, value, known, how it was accepted."""
    return [
        (b.reading.quantity, str(b.reading.value), b.reading.known, b.how)
        for b in talk.of(ev.ReadingAccepted)
        if b.reading.subject == "right leaf"
    ]


def source(talk: Talk) -> str | None:
    leaf = talk.state.progress.job.opening.leaf(Side.RIGHT)
    return None if leaf is None else leaf.weight_source


def test_yes_files_the_sizes_of_the_left_leaf_for_the_right_one(language):
    talk = at_right_leaf(language)
    assert talk.says("say again")[-1] == ASKED
    assert of_right_leaf(talk) == []
    talk.says("yes")
    assert of_right_leaf(talk) == [
        (Quantity.LEAF_WIDTH, "36", True, "explicit"),
        (Quantity.LEAF_HEIGHT, "84", True, "explicit"),
        (Quantity.LEAF_WEIGHT, "120", True, "explicit"),
    ]
    assert source(talk) == "label"
    right = talk.state.progress.job.opening.leaf(Side.RIGHT)
    assert right is not None and right.width == Measure(value="36", unit=Unit.INCH)
    ended = {body.key for body in talk.of(ev.StepEnded)}
    assert {f"{step}:right leaf" for step in ("width", "height", "weight", "weight-source")} < ended


@pytest.mark.parametrize("word", ["done", "next service twelve months", "affirmative maybe", "36"])
def test_nothing_but_yes_files_them_all(language, word):
    talk = at_right_leaf(language)
    talk.says(word)
    assert len(of_right_leaf(talk)) == 0


def test_affirm_belongs_to_the_answer_that_was_said_back(language):
    talk = at_right_leaf(language)  # 'Label.' was said back with the question
    talk.says("affirm")
    assert of_right_leaf(talk) == [] and len(group_at(talk.state)) == 4
    talk.says("affirm")
    assert len(of_right_leaf(talk)) == 3


def test_no_files_nothing_and_asks_each(language):
    talk = at_right_leaf(language)
    talk.says("affirm", "no")
    assert of_right_leaf(talk) == [] and group_at(talk.state) == ()
    talk.says("42 inches", "affirm", "84 inches", "150 pounds", "affirm", "scale", "affirm")
    assert [value for _, value, *_ in of_right_leaf(talk)] == ["42", "84", "150"]
    assert not any(known for _, _, known, _ in of_right_leaf(talk))
    assert source(talk) == "scale"


def test_another_width_is_read_back_and_the_rest_is_asked_together(language):
    talk = at_right_leaf(language)
    said = talk.says("42 inches", "affirm")
    assert of_right_leaf(talk) == [(Quantity.LEAF_WIDTH, "42", False, "explicit")]
    assert [task.step.id for task in group_at(talk.state)] == ["height", "weight", "weight-source"]
    assert "eighty four inches" in said[-1] and "thirty six" not in said[-1]


def test_each_is_asked_while_every_value_needs_its_affirm(language):
    talk = at_right_leaf(language, confirm="every")
    assert group_at(talk.state) == ()


def test_what_the_left_leaf_lacks_is_not_offered(language):
    """A skipped weight has no source that the other leaf could share."""
    talk = Talk(state=at_right_leaf(language).state, language=language)
    job = talk.state.progress.job
    left = job.opening.leaf(Side.LEFT)
    assert left is not None
    weighed = next(r for r in job.readings if r.quantity is Quantity.LEAF_WEIGHT)
    job = job.without_reading(weighed.id)
    talk.state = talk.state.model_copy(
        update={"progress": talk.state.progress.model_copy(update={"job": job})}
    )
    assert [task.step.id for task in group_at(talk.state)] == ["width", "height"]


@pytest.mark.parametrize("name", ["yearly-service", "controller-replaced-pair"])
def test_no_measured_value_is_ever_taken_from_the_other_leaf(language, name):
    """Times, forces, angles and settings are never known from the other leaf."""
    at = "action:right leaf" if name.startswith("controller") else "width:right leaf"
    talk = at_right_leaf(language, procedure=name, at=at)
    looked_at = set()
    while not talk.state.progress.closed:
        for task in talk.state.tasks if talk.state.pending is None else ():
            if task.step.quantity not in SIZES and task.step.fact not in (
                "weight_source",
                "action",
            ):
                assert not is_of_other_leaf(talk.state, task)
                looked_at.add(task.step.quantity)
        talk.says(answer_to(talk.state, "slams"))
    assert {Quantity.OPENING_TIME, Quantity.CLOSING_FORCE, Quantity.BACKCHECK_ANGLE} < looked_at


def test_no_asks_about_the_answer_that_was_said_back_first(language):
    talk = at_right_leaf(language)
    talk.says("no")
    assert talk.state.pending is not None and of_right_leaf(talk) == []
    talk.says("affirm")
    assert talk.state.progress.at == "width:right leaf" and group_at(talk.state) == ()
    assert of_right_leaf(talk) == []


@pytest.mark.parametrize(("swing", "asked"), [(Swing.SAME_WAY, True), (Swing.DOUBLE_EGRESS, False)])
def test_push_or_pull_is_asked_with_the_sizes_where_both_leaves_swing_the_same_way(
    language, swing, asked
):
    procedure = "controller-replaced-pair" if asked else "double-egress"
    talk = at_right_leaf(language, procedure=procedure, swing=swing, at="action:right leaf")
    assert talk.state.progress.at == "action:right leaf"
    assert ("action" in {task.step.id for task in group_at(talk.state)}) is asked
    if asked:
        talk.says("affirm", "yes")
        assert [b.fact.value for b in talk.of(ev.FactAccepted) if b.fact.name == "action"] == [
            "push",
            "push",
        ]
        assert len(of_right_leaf(talk)) == 3


def test_it_is_asked_in_spanish():
    language = Language.load(language="es")
    talk = at_right_leaf(language)
    (asked,) = talk.says("repita")[-1:]
    assert asked.startswith("Hoja derecha, lo mismo: treinta y seis pulgadas por")
    talk.says("sí")
    assert [value for _, value, *_ in of_right_leaf(talk)] == ["36", "84", "120"]
