"""Every procedure that ships, walked from the first word to the last by typed answers."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from typing import NamedTuple

import pytest

from handsfree.checks.limits import load_limits
from handsfree.dialogue import machine
from handsfree.dialogue.pending import AskedNote, AskedWord, PendingFact, PendingReading
from handsfree.dialogue.progress import replay
from handsfree.dialogue.state import Heard, Keep, Say, State
from handsfree.grammar.language import Language
from handsfree.job.job import Sheet
from handsfree.job.opening import Leaf, Lock, Motor, Opening, Side, Swing
from handsfree.job.quantity import QUANTITIES, SETTINGS, Quantity
from handsfree.job.reading import Taken
from handsfree.journal import events as ev
from handsfree.procedure.load import load_procedure, shipped_procedures
from handsfree.procedure.step import Procedure, Step
from handsfree.visit import first_state, opened

READINGS = {
    Quantity.BACKCHECK_ANGLE: "80 degrees",
    Quantity.LEAF_WIDTH: "36 inches",
    Quantity.LEAF_HEIGHT: "84 inches",
    Quantity.LEAF_WEIGHT: "120 pounds",
    Quantity.PLATE_HEIGHT: "42 inches",
    Quantity.PLATE_DISTANCE: "4 feet",
    Quantity.SIGN_HEIGHT: "58 inches",
    Quantity.CYCLES: "10",
    Quantity.NEXT_SERVICE: "12 months",
}
FORCES = (Quantity.OPENING_FORCE, Quantity.CLOSING_FORCE)
OPENINGS = list(product(Swing, (True, False)))
COMPLAINTS = {
    "slams": "it slams",
    "stays_open": "stays open",
    "does_not_open": "does not open",
    "hits_people": "hits people",
    "will_not_latch": "will not latch",
}


def opening(swing: Swing, everything: bool) -> Opening:
    """A single leaf or a pair, with all that can be fitted or with nothing."""
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
    """What a technician with a door in order says to what the visit waits for."""
    if isinstance(state.pending, PendingReading | PendingFact):
        return "affirm"
    task = state.task
    assert task is not None
    step = task.step
    if step.caution is not None and task.key not in state.progress.cautioned:
        return step.word or ""
    match step.waits:
        case "reading":
            return reading_for(step)
        case "observation":
            return "in order"
        case "choice":
            return choice_for(state, step, complaint)
        case _:
            return "done"


def reading_for(step: Step) -> str:
    assert step.quantity is not None
    if step.quantity in SETTINGS:
        return f"{QUANTITIES[step.quantity].spoken} 12"
    if step.quantity in FORCES:
        return "10 pounds"
    return READINGS.get(step.quantity, "6.5 seconds" if "time" in step.quantity else "4 pounds")


def choice_for(state: State, step: Step, complaint: str) -> str:
    """The door as the job has it; motor one drives the left leaf."""
    task, swing = state.task, state.progress.job.opening.swing
    assert task is not None
    second = "two" in task.subject or "right" in task.subject
    match step.fact:
        case "complaint":
            return COMPLAINTS[complaint]
        case "swing":
            return swing.replace("_", " ")
        case "lock":
            return state.progress.job.opening.lock.value
        case "hand":
            return "right hand" if second and swing is Swing.SAME_WAY else "left hand"
        case "leaf":
            return "right leaf" if second else "left leaf"
        case "hinge_side":
            return "right" if second else "left"
    return step.options[0].say


class Walk(NamedTuple):
    """A visit that was walked to its end: how it stands, all that was kept, the last words."""

    state: State
    journal: list[ev.Body]
    last: str


def walk(
    language: Language, procedure: Procedure, door: Opening, answer: Callable[[State], str]
) -> Walk:
    """Answers until the visit closes; every answer has to take it on."""
    limits = load_limits("a156.19")
    sheet = Sheet(reference="T", site="a test", technician="nobody", opening=door)
    state, replies = machine.begin(first_state(sheet, procedure, limits), 0.0)
    shell = {"model": "none", "ears": "typed", "mouth": "none"}
    journal: list[ev.Body] = [opened(sheet, procedure, limits, **shell)]
    journal += [reply.body for reply in replies if isinstance(reply, Keep)]
    turns = 0
    while not state.progress.closed:
        text = answer(state)
        meaning = language.parse(text)
        before = (state.progress, state.pending)
        heard = Heard(text=text, meaning=meaning, taken=Taken.TYPED)
        state, replies = machine.answer(state, heard, float(turns))
        journal += [reply.body for reply in replies if isinstance(reply, Keep)]
        assert (state.progress, state.pending) != before, (text, replies)
        turns += 1
        assert turns < 8 * len(state.tasks)
    last = [reply.text for reply in replies if isinstance(reply, Say)][-1]
    return Walk(state, journal, last)


WALKS = [(name, "slams") for name in shipped_procedures() if name != "complaint"]
WALKS += [("complaint", complaint) for complaint in COMPLAINTS]


@pytest.mark.parametrize(("name", "complaint"), WALKS)
@pytest.mark.parametrize(("swing", "everything"), OPENINGS)
def test_a_procedure_is_walked_from_start_to_close_out(
    language: Language, name: str, complaint: str, swing: Swing, everything: bool
) -> None:
    procedure = load_procedure(name)
    walked = walk(
        language, procedure, opening(swing, everything), lambda state: answer_to(state, complaint)
    )
    progress = walked.state.progress
    assert set(progress.ended.values()) <= {"done", "failed"}
    assert [task.key for task in walked.state.tasks if task.key not in progress.ended] == []
    assert replay(walked.journal) == progress
    measures = any(step.quantity for step in procedure.steps)
    assert ("Every reading that was judged is within its limit." in walked.last) is measures
    assert ("nothing was measured" in walked.last) is not measures


@pytest.mark.parametrize(
    ("complaint", "mended"),
    [
        ("slams", "closer-repaired"),
        ("does_not_open", "power-traced"),
        ("hits_people", "guard-talked-over"),
        ("will_not_latch", "latch-set-right"),
    ],
)
def test_a_search_that_finds_the_fault_leads_to_its_repair(
    language: Language, complaint: str, mended: str
) -> None:
    def answer(state: State) -> str:
        match state.pending:
            case AskedNote():
                return "the owner was told"
            case AskedWord():
                return "done later"
        text, task = answer_to(state, complaint), state.task
        searching = task is not None and task.step.stage == "search"
        return "not in order" if searching and text == "in order" else text

    door = opening(Swing.SINGLE, everything=True)
    walked = walk(language, load_procedure("complaint"), door, answer)
    assert walked.state.progress.ended[mended] == "done"
    assert "Not in order" in walked.last
