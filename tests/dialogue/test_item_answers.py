"""Several observations in one utterance: the named items are filed, and nothing else.

The way of asking is common practice, no published source.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.checks.limits import load_limits
from handsfree.dialogue.item_answers import placements
from handsfree.dialogue.state import State
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.language.interpreter import Language
from handsfree.language.item_answers import ITEM_FACTS, ItemSaid
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.visit.resume import first_state

from ..talk import SHEET, Talk

LIMITS = load_limits("a156.19")
NOT_ASKED = "Not all of that is asked here, so I kept none of it."
GOOD, BAD = ("okay", "good", "tight"), ("loose", "bad", "not okay")
NAMES = {
    "hinges": "hinge_condition",
    "glass": "leaf_condition",
    "guards": "guards",
    "cover": "operator_fixings",
    "cables": "cables",
    "floor": "floor",
}
OF_THE_LEAVES = ("hinges", "glass", "guards")


def inspection(language: Language) -> State:
    """At the question for everything that is looked at by hand; nothing was said back before it."""
    state = first_state(SHEET, load_procedure("yearly-service"), LIMITS)
    talk = Talk(state=state, language=language)
    talk.begins("doubtful")
    talk.says("go to the by hand checks", "clear", "all good")
    assert "hinges tight" in talk.says("clear")[-1]
    return talk.state


@pytest.fixture(scope="module")
def at_the_question(language: Language) -> State:
    return inspection(language)


@pytest.fixture
def talk(at_the_question: State, language: Language) -> Talk:
    return Talk(state=at_the_question, language=language)


def filed(talk: Talk) -> set[tuple[str, str, str]]:
    """The facts that this conversation stored in the journal."""
    facts = [body.fact for body in talk.of(ev.FactAccepted)]
    return {(str(fact.subject), fact.name, fact.value) for fact in facts}


def of_both(name: str, value: str) -> set[tuple[str, str, str]]:
    return {(side, name, value) for side in ("left leaf", "right leaf")}


def test_each_named_step_is_answered_and_the_rest_is_asked_on(talk):
    spoken = talk.says("hinges tight, glass okay, cables good")
    assert spoken[0] == "Hinges OK, glass and edges OK, cables OK."
    assert spoken[1].startswith("Both leaves: guards and guide tight. Operator and cover tight,")
    assert filed(talk) == set()  # said back with the next prompt, as any answer
    talk.says("no")  # opens the rest: it answers nothing of it
    talk.says("affirm")
    good = of_both("hinge_condition", "in_order") | of_both("leaf_condition", "in_order")
    assert filed(talk) == good | {("opening", "cables", "in_order")}


def test_a_leaf_that_is_named_is_the_only_one_and_holds_for_what_follows(talk):
    talk.says("left hinges tight, glass good", "affirm")
    assert filed(talk) == {
        ("left leaf", "hinge_condition", "in_order"),
        ("left leaf", "leaf_condition", "in_order"),
    }


def test_a_refusal_is_read_back_with_all_of_the_breath(talk):
    assert talk.says("hinges tight, left glass broken") == [
        "Left leaf, glass and edges, not OK. Hinges OK."
    ]
    assert filed(talk) == set()
    assert talk.says("affirm") == ["Say in a few words what is wrong."]
    assert talk.state.progress.at == "leaf-whole:left leaf"
    broken = ("left leaf", "leaf_condition", "not_in_order")
    assert filed(talk) == of_both("hinge_condition", "in_order") | {broken}
    assert "Right leaf: glass and edges whole" in talk.says("a crack in the corner")[-1]


def test_a_refusal_that_is_not_next_is_filed_and_its_step_is_asked_by_itself(talk):
    talk.says("cover loose")
    assert "Cables good" in talk.says("affirm")[-1]
    assert filed(talk) == {("opening", "operator_fixings", "not_in_order")}
    spoken = talk.says("all good")
    assert spoken[-1].startswith("Try the operator, its back plate and its cover by hand.")


def test_a_refusal_of_another_row_is_not_lost(talk):
    assert talk.says("hinges tight, near side sign missing") == [
        "Near side, signs, not OK. Hinges OK."
    ]
    talk.says("affirm")
    assert ("near side", "signs", "not_in_order") in filed(talk)


def test_a_refusal_without_a_step_makes_the_breath_count_for_nothing(talk):
    assert talk.says("hinges tight, rails cracked")[0] == NOT_ASKED
    talk.says("affirm")
    assert filed(talk) == set()


def test_a_fault_without_a_step_and_an_answer_of_the_same_breath_are_both_kept(talk):
    talk.says("hinges tight, rails missing")
    assert talk.says("left") == ["Left leaf, guide rail missing. Yes or no?"]
    assert talk.says("affirm")[:2] == ["Fault kept.", "Hinges OK."]
    talk.says("affirm")
    assert of_both("hinge_condition", "in_order") == filed(talk)
    (fault,) = talk.state.progress.faults
    assert fault.key == "left leaf/guide_rail_missing"


def test_an_assent_without_a_step_is_left_out(talk):
    spoken = talk.says("hinges tight, rails good")
    assert spoken[:2] == ["The rest is not asked here.", "Hinges OK."]


def test_a_refusal_wins_over_an_assent_of_the_same_breath(talk):
    assert talk.says("hinges tight, hinges loose") == ["Left leaf and right leaf, hinges, not OK."]


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_a_refusal_that_is_dropped_is_asked_for_one_by_one(talk, word):
    talk.says("hinges tight, cover loose")
    assert talk.says(word)[-3:] == ["Dropped.", "One by one.", "Hinges of the left leaf tight?"]
    assert filed(talk) == set()


def test_what_was_said_back_is_taken_back_by_another_answer_that_names_it(talk):
    talk.says("hinges tight, cables good")
    spoken = talk.says("left hinges loose")
    assert spoken[-1] == "Left leaf, hinges, not OK. Right leaf, hinges, OK. Cables OK."


def test_it_answers_no_caution_and_no_step_that_is_asked_alone(language):
    state = first_state(SHEET, load_procedure("yearly-service"), LIMITS)
    talk = Talk(state=state, language=language)
    talk.begins("doubtful")
    before = talk.state.progress.at
    assert talk.says("hinges tight", "cables good")
    assert talk.state.progress.at == before and filed(talk) == set()


def test_in_spanish():
    language = Language.load(language="es")
    state = first_state(
        SHEET.model_copy(update={"language": "es"}),
        load_procedure("yearly-service", language="es"),
        LIMITS,
    )
    talk = Talk(state=state, language=language)
    talk.begins("doubtful")
    talk.says("ir a las pruebas a mano", "despejado", "todo bien", "despejado")
    assert talk.says("bisagras firmes, vidrio bien y cables bien")[0] == (
        "Bisagras bien, vidrio y cantos bien, cables bien."
    )


# --- whatever is named

words = st.sampled_from(sorted(NAMES))
said = st.lists(st.tuples(words, st.sampled_from((*GOOD, *BAD))), min_size=1, max_size=5)


@settings(max_examples=20, deadline=None)
@given(said=said)
def test_what_is_named_is_filed_and_nothing_else(at_the_question, language, said):
    talk = Talk(state=at_the_question, language=language)
    talk.says(", ".join(" ".join(each) for each in said))
    talk.says("affirm")
    bad = {word for word, how in said if how in BAD}
    expected: set[tuple[str, str, str]] = set()
    for word, _ in said:
        value = "not_in_order" if word in bad else "in_order"
        places = of_both(NAMES[word], value)
        expected |= places if word in OF_THE_LEAVES else {("opening", NAMES[word], value)}
    assert filed(talk) == expected


@given(
    items=st.lists(
        st.builds(
            ItemSaid,
            name=st.sampled_from(sorted(ITEM_FACTS)),
            value=st.sampled_from(("in_order", "not_in_order")),
            subject=st.sampled_from((None, Subject.LEFT_LEAF, Subject.RIGHT_LEAF)),
        ),
        min_size=1,
        max_size=6,
    )
)
def test_no_step_is_answered_that_was_not_named_and_no_refusal_is_lost(at_the_question, items):
    row = tuple(t for t in at_the_question.tasks if t.step.group == "inspection")
    placed = placements(row, tuple(items))
    there = {task.key: task for task in row}
    named = {item.name for item in items}
    assert all(there[key].step.fact in named for key in placed)
    refused = {item.name for item in items if item.value == "not_in_order"}
    if placed:
        bad = {there[key].step.fact for key, value in placed.items() if value == "not_in_order"}
        assert bad == refused


@pytest.mark.parametrize("language_name", ["en", "es"])
def test_every_name_is_a_fact_that_a_question_lists(language_name):
    listed = {
        step.fact
        for name in shipped_procedures()
        for step in load_procedure(name, language=language_name).steps
        if step.item is not None and step.waits == "observation"
    }
    assert listed >= ITEM_FACTS
