"""A technician who walks any procedure to its end, in each language."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from handsfree.checks.limits import load_limits
from handsfree.dialogue import state_machine
from handsfree.dialogue.grouped_steps import asks_values, group_at
from handsfree.dialogue.questions.accepted_by import AcceptedByQuestion
from handsfree.dialogue.questions.complaint_kept import ComplaintKeptQuestion
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.questions.guide_entry import GuideEntryQuestion
from handsfree.dialogue.questions.guide_learn import GuideLearnQuestion
from handsfree.dialogue.questions.hand_over import HandOverQuestion
from handsfree.dialogue.questions.note import NoteQuestion
from handsfree.dialogue.questions.open_item import OpenItemQuestion
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.questions.search_offer import SearchOfferQuestion
from handsfree.dialogue.questions.what_was_done import WhatWasDoneQuestion
from handsfree.dialogue.state import Heard, Keep, Say, State
from handsfree.job.closed_lists import Confirm
from handsfree.job.job import Sheet
from handsfree.job.opening import Leaf, Lock, Motor, Opening, Side, Swing
from handsfree.job.quantity import SETTINGS, Quantity
from handsfree.job.reading import Taken
from handsfree.journal import events as ev
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure, Step
from handsfree.visit.resume import first_state, opening_event

from ..talk import Talk


class Phrases(NamedTuple):
    """The typed phrases of one language."""

    affirm: str
    clear: str
    in_order: str
    not_in_order: str
    done: str
    note: str
    done_later: str
    tagged_out: str
    repaired: str
    accepted: str
    name: str
    negative: str
    all_good: str
    yes: str
    readings: dict[Quantity, str]
    a_time: str
    a_moving_force: str
    a_force_by_hand: str
    a_setting: str
    asides: tuple[str, ...]


PHRASES = {
    "en": Phrases(
        affirm="affirm",
        clear="clear",
        in_order="in order",
        not_in_order="not in order",
        done="done",
        note="the owner was told",
        done_later="done later",
        tagged_out="off and tagged",
        repaired="repaired",
        accepted="accepted by owner",
        name="mrs example",
        negative="negative",
        all_good="all good",
        yes="yes",
        readings={
            Quantity.BACKCHECK_ANGLE: "80 degrees",
            Quantity.LEAF_WIDTH: "36 inches",
            Quantity.LEAF_HEIGHT: "84 inches",
            Quantity.LEAF_WEIGHT: "120 pounds",
            Quantity.PLATE_HEIGHT: "42 inches",
            Quantity.PLATE_DISTANCE: "4 feet",
            Quantity.SIGN_HEIGHT: "58 inches",
            Quantity.CYCLES: "10",
            Quantity.CLEAR_WIDTH: "34 inches",
            Quantity.NEXT_SERVICE: "12 months",
            Quantity.TOTAL_OPENING_TIME: "9 seconds",
        },
        a_time="6.5 seconds",
        a_moving_force="10 pounds",
        a_force_by_hand="4 pounds",
        a_setting="5",
        asides=("why", "help", "where am i", "what is the limit", "say again"),
    ),
    "es": Phrases(
        affirm="afirmativo",
        clear="despejado",
        in_order="en orden",
        not_in_order="no está en orden",
        done="listo",
        note="se avisó al dueño",
        done_later="se hará después",
        tagged_out="apagado y con etiqueta",
        repaired="reparé",
        accepted="aceptado por el dueño",
        name="la señora ejemplo",
        negative="negativo",
        all_good="todo bien",
        yes="sí",
        readings={
            Quantity.BACKCHECK_ANGLE: "ochenta grados",
            Quantity.LEAF_WIDTH: "treinta y seis pulgadas",
            Quantity.LEAF_HEIGHT: "ochenta y cuatro pulgadas",
            Quantity.LEAF_WEIGHT: "ciento veinte libras",
            Quantity.PLATE_HEIGHT: "cuarenta y dos pulgadas",
            Quantity.PLATE_DISTANCE: "cuatro pies",
            Quantity.SIGN_HEIGHT: "cincuenta y ocho pulgadas",
            Quantity.CYCLES: "diez",
            Quantity.CLEAR_WIDTH: "treinta y cuatro pulgadas",
            Quantity.NEXT_SERVICE: "doce meses",
            Quantity.TOTAL_OPENING_TIME: "nueve segundos",
        },
        a_time="seis coma cinco segundos",
        a_moving_force="diez libras fuerza",
        a_force_by_hand="cuatro libras fuerza",
        a_setting="cinco",
        asides=("por qué", "ayuda", "dónde estoy", "cuál es el límite", "repita"),
    ),
}
MOVING = (Quantity.OPENING_FORCE, Quantity.CLOSING_FORCE)


def opening(swing: Swing, everything: bool) -> Opening:
    """A single leaf or a pair, with all of the possible equipment or none."""
    sides = (Side.LEFT,) if swing is Swing.SINGLE else (Side.LEFT, Side.RIGHT)
    return Opening(
        name="hall",
        seen_from="corridor",
        swing=swing,
        leaves=tuple(Leaf(name=side) for side in sides),
        motors=tuple(Motor(number=nth) for nth, _ in enumerate(sides, 1)),
        lock=Lock.STRIKE if everything else Lock.NONE,
        fire_rated=everything,
        sensors=everything,
        astragal=everything and len(sides) == 2,
        power_fail_spring=everything,
        vestibule=everything,
    )


def answer_to(state: State, complaint: str) -> str:
    """A technician's answer at a door without faults to the pending question."""
    phrases = PHRASES[state.words.language]
    match state.pending:
        case ReadingsQuestion() | FactQuestion():
            return phrases.affirm
        case NoteQuestion():
            return phrases.note
        case OpenItemQuestion():
            return phrases.done_later
        case HandOverQuestion(place="hand-over"):
            return phrases.tagged_out
        case HandOverQuestion():
            return phrases.accepted
        case AcceptedByQuestion():
            return phrases.name
        case SearchOfferQuestion() | ComplaintKeptQuestion():
            return phrases.negative
        case WhatWasDoneQuestion():
            return phrases.repaired
        case GuideLearnQuestion(phase="ending"):
            return phrases.affirm
        case GuideLearnQuestion() | GuideEntryQuestion():
            return phrases.done
    task = state.task
    assert task is not None
    step = task.step
    if step.caution is not None and task.key not in state.progress.cautioned:
        return phrases.clear
    if group := group_at(state):
        return phrases.yes if asks_values(task) else group_answer(phrases, group[0].step)
    match step.waits:
        case "reading":
            return reading_for(state, step)
        case "observation":
            return phrases.in_order
        case "choice":
            return choice_for(state, step, complaint)
        case _ if step.own_word is not None:
            return state.words.name("word", step.own_word)
        case _:
            return phrases.done


def group_answer(phrases: Phrases, step: Step) -> str:
    """The answer to a question for several steps: 'all good', or 'done'."""
    return phrases.all_good if step.waits == "observation" else phrases.done


def reading_for(state: State, step: Step) -> str:
    """The quantity and a value that passes: 'opening time 6.5 seconds'."""
    assert step.quantity is not None
    phrases = PHRASES[state.words.language]
    if step.quantity in SETTINGS:
        value = phrases.a_setting
    elif step.quantity in MOVING:
        value = phrases.a_moving_force
    else:
        other = phrases.a_time if "time" in step.quantity else phrases.a_force_by_hand
        value = phrases.readings.get(step.quantity, other)
    return f"{state.words.quantity(step.quantity)} {value}"


def choice_for(state: State, step: Step, complaint: str) -> str:
    """The door as the job has it; motor one drives the left leaf."""
    task, door = state.task, state.progress.job.opening
    assert task is not None
    second = "two" in task.subject or "right" in task.subject
    opposite = second and door.swing is Swing.SAME_WAY
    values: dict[str | None, str] = {
        "complaint": complaint,
        "swing": door.swing,
        "lock": door.lock,
        "hand": "right" if opposite else "left",
        "leaf": "right" if second else "left",
        "hinge_side": "right" if second else "left",
        "action": "pull" if second and door.swing is Swing.DOUBLE_EGRESS else "push",
    }
    value = values.get(step.fact, step.options[0].value)
    (say,) = (option.say for option in step.options if option.value == value)
    return say


class Walk(NamedTuple):
    """A visit walked to its end: its final state, its events, all that was spoken."""

    state: State
    journal: list[ev.Body]
    said: list[str]


def walk(
    language: Language,
    procedure: Procedure,
    door: Opening,
    answer: Callable[[State], str],
    asides: tuple[str, ...] = (),
    confirm: Confirm = "doubtful",
) -> Walk:
    """Answers until the visit closes; every answer except an ``aside`` has to move it on."""
    limits = load_limits("a156.19")
    sheet = Sheet(reference="T", site="a test", technician="nobody", opening=door)
    sheet = sheet.model_copy(update={"language": language.wording.language})
    new = first_state(sheet, procedure, limits)
    state, replies = state_machine.begin(new, 0.0, confirm=confirm)
    shell = {"model": "none", "ears": "typed", "mouth": "none"}
    journal: list[ev.Body] = [opening_event(sheet, procedure, limits, **shell)]
    said: list[str] = []
    turns = 0

    def follow() -> None:
        journal.extend(reply.body for reply in replies if isinstance(reply, Keep))
        said.extend(reply.text for reply in replies if isinstance(reply, Say))

    def heard(text: str) -> Heard:
        meaning = language.parse(text)
        return Heard(text=text, meaning=meaning, taken=Taken.TYPED)

    follow()
    while not state.progress.closed:
        for aside in asides if state.pending is None else ():
            state, replies = state_machine.answer(state, heard(aside), float(turns))
            follow()
        text = answer(state)
        before = (state.progress, state.pending)
        state, replies = state_machine.answer(state, heard(text), float(turns))
        follow()
        assert (state.progress, state.pending) != before, (text, replies)
        turns += 1
        assert turns < 8 * len(state.tasks)
    return Walk(state, journal, said)


def walked_to(
    language: Language,
    at: str,
    *,
    procedure: str = "yearly-service",
    swing: Swing = Swing.SAME_WAY,
    confirm: Confirm = "doubtful",
) -> Talk:
    """Walks a visit to a door without faults up to a task."""
    name = language.wording.language
    door = opening(swing, False)
    sheet = Sheet(reference="B", site="a bench", technician="nobody", opening=door, language=name)
    loaded = load_procedure(procedure, language=name)
    talk = Talk(state=first_state(sheet, loaded, load_limits("a156.19")), language=language)
    talk.begins(confirm)
    while talk.state.progress.at != at:
        talk.says(answer_to(talk.state, "slams"))
    return talk
