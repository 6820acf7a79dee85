"""A technician who is not understood: other words, and the unit if it is asked for."""

from __future__ import annotations

from random import Random

import pytest

from handsfree.job.quantity import Quantity
from handsfree.language.interpreter import Language
from handsfree.language.wording import wording
from handsfree.procedure.loader import load_procedure
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.faults import add_fault, make_fault
from handsfree.rehearsal.simulated_technician import Technician
from handsfree.rehearsal.technician_profile import CAREFUL

STEP = "Look at the sensors on the leaves and the header. Are they tight, clean, and undamaged?"


@pytest.fixture
def technician(pair) -> Technician:
    procedure = load_procedure("controller-replaced-pair")
    return Technician(Door(pair, 1), procedure, wording(), CAREFUL, 1)


def says(technician: Technician, *heard: str) -> str:
    for text in heard:
        technician.hear(text)
    return technician.speak().text


def test_he_takes_another_word_where_he_was_not_understood(technician, language: Language):
    first = says(technician, STEP)
    second = says(technician, "Say again.")
    assert {first, second} == {"yes", "yeah"}
    assert language.parse(first) == language.parse(second)
    assert technician.repairs == 1 and technician.again == [first]


def test_he_does_not_go_on_with_words_that_are_never_heard(technician):
    says(technician, STEP)
    technician.again += ["affirm", "affirmative"] * 3
    for _ in range(20):
        assert says(technician, "Sensors as found, OK.") == "yes"


def test_he_says_the_unit_where_it_is_asked_for(technician, language: Language):
    prompt = next(
        text
        for text, (_, step, _) in technician._listener._prompts.items()
        if step.quantity is Quantity.LEAF_WIDTH
    )
    for _ in range(10):
        technician._mind = ()
        asked = (
            "Three six inches. The usual leaf width is from one eight inches to six zero inches, "
            "so it may be the unit. Say the value again, with its unit."
        )
        said = says(technician, prompt, asked)
        assert language.parse(said).unit is not None, said


def prompt_of(technician: Technician, what: str) -> str:
    """A prompt of the procedure, found by some of its words."""
    return next(
        text
        for text, (kind, _, _) in technician._listener._prompts.items()
        if kind == "prompt" and what in text
    )


def test_an_answer_that_is_heard_as_a_question_he_gives_in_another_word(technician):
    said = says(technician, prompt_of(technician, "do you push or pull the left leaf"))
    assert said in ("push", "pull")
    why = technician._at[0].why
    for _ in range(2):
        assert says(technician, why) == said
    circle = (
        f"The same question comes back. I heard: {'why, ' * 3}why.",
        "Say push or pull.",
        "You can also say pushes or pulls, or type it on the keyboard, or skip.",
    )
    assert says(technician, why, *circle) == said + ("es" if said == "push" else "s")
    assert not technician.lines[-1].typed
    says(technician, why)
    assert technician.lines[-1].typed
    assert technician.repairs == 4


def test_the_answer_to_his_own_question_is_no_repair(technician):
    says(technician, STEP)
    technician.lines.append(technician.lines[-1].model_copy(update={"asks": True}))
    says(technician, "This step has no limit.")
    assert technician.repairs == 0


def test_a_caution_that_wants_its_own_word_gets_it(technician):
    says(technician, STEP)
    assert says(technician, "I need to hear: clear.") == "clear"


def test_a_value_that_is_doubted_was_said_again(technician):
    says(technician, prompt_of(technician, "width of the left leaf"))
    doubt = "Four inches. The usual leaf width is from one eight inches to six zero inches. "
    says(technician, doubt + "Say the value again.")
    assert technician.repairs == 1


def test_a_value_that_was_misheard_he_says_with_its_quantity_and_then_by_digits(technician):
    prompt = prompt_of(technician, "width of the left leaf")
    says(technician, prompt)
    wrong = "Left leaf, leaf width, one nine inches."
    dropped = "Dropped. Say the leaf width as a number, or skip."
    for start in ("leaf width", "leaf width"):
        assert says(technician, wrong) in ("negative", "no", "wrong", "correction thirty six")
        technician.lines[-1] = technician.lines[-1].model_copy(update={"text": "negative"})
        assert says(technician, dropped).startswith(start)
    digits = technician.lines[-1].text.removeprefix("leaf width ").split()
    assert digits[:2] == ["three", "six"]


def test_he_stays_with_the_word_that_was_heard_and_leaves_it_while_it_is_not(technician):
    readback = "Sensors as found, OK."
    says(technician, STEP)
    said = {says(technician, readback) for _ in range(30)}
    assert said == {"affirm", "yes", "affirmative"}  # until one was missed, any of them
    technician.again += ["affirmative"] * 4
    stays = says(technician, readback)
    assert stays in ("affirm", "yes")
    assert {says(technician, readback) for _ in range(10)} == {stays}
    assert says(technician, "Say again.") != stays


def test_he_answers_a_caution_that_he_was_led_away_from(technician):
    """Somebody else's words came between: it is asked for again without its sentence."""
    says(technician, STEP)
    quantity = "Say what you measured, too, for example: left leaf opening time six point two."
    assert says(technician, quantity, "Say clear when it is clear.") == "clear"
    assert says(technician, STEP) in ("yes", "yeah")


def test_a_caution_whose_word_is_never_heard_gets_the_other_that_he_was_told(technician):
    """'Clear' of one voice was refused 128 times in a visit."""
    says(technician, STEP)
    told = ("Say again.", "Say clear when it is clear.", "Say again.")
    assert says(technician, "Say clear when it is clear.") == "clear"
    assert [says(technician, text) for text in told] == ["clear", "clear", "it is safe"]
    offered = "You can also say it is safe, or type it on the keyboard."
    assert says(technician, offered) in ("clear", "it is safe")


def test_asked_which_of_two_values_it_was_he_says_his_own_again(technician, language: Language):
    prompt = next(
        text
        for text, (_, step, _) in technician._listener._prompts.items()
        if step.quantity is Quantity.LEAF_WIDTH
    )
    first = language.parse(says(technician, prompt))
    question = "I heard three six, or three seven?"
    again = language.parse(says(technician, "Left leaf, leaf width, three six inches.", question))
    assert (again.value, again.unit or first.unit) == (first.value, first.unit or again.unit)
    assert technician.repairs == 1


GROUP = "Both leaves: swings freely. All good?"


def first_step_of(technician: Technician) -> str:
    """The prompt of the first step that GROUP is about."""
    prompts = technician._listener._prompts.items()
    return next(text for text, (_, step, _) in prompts if step.id == "swings-free")


def test_all_good_that_is_not_understood_becomes_yes(technician, language: Language):
    assert says(technician, GROUP) == "all good"
    assert says(technician, "Say again.") == "yes"
    assert technician.again == ["all good"] and technician.repairs == 1


def test_all_good_that_opens_the_question_was_misheard(technician):
    assert says(technician, GROUP) == "all good"
    opened = first_step_of(technician)
    assert says(technician, "One by one.", opened) in ("yes", "yeah")
    assert technician.again == ["all good"] and technician.repairs == 1


def test_a_refusal_that_opens_the_question_was_understood(pair):
    binding = add_fault(pair, make_fault(pair, "leaf binds", Random(1)))
    procedure = load_procedure("controller-replaced-pair")
    technician = Technician(Door(binding, 1), procedure, wording(), CAREFUL, 1)
    assert says(technician, GROUP) == "no"
    opened = first_step_of(technician)
    says(technician, "One by one.", opened)
    assert technician.again == [] and technician.repairs == 0
