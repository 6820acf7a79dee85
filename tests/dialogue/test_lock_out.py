"""A step of the lock-out that comes up late: it interrupts the work on the wires at once."""

from __future__ import annotations

import pytest

from handsfree.journal.events import StepEnded
from handsfree.visit_record.progress import apply

from ..talk import Talk
from .door_talk import TOLD, at_the_door, enter

BATTERY = {"en": ("it has a battery", "affirm"), "es": ("tiene batería", "afirmativo")}
PLUG = {
    "en": ("the power supply is plug", "affirm"),
    "es": ("la alimentación es clavija", "afirmativo"),
}
PROVED = {"en": ("clear", "proved dead"), "es": ("despejado", "energía cero")}


def worked_on(step: str, language: str = "en") -> Talk:
    """A visit at a step, with everything before it done."""
    talk, _ = at_the_door(TOLD, language=language)
    for task in talk.state.tasks:
        if task.step.id == step:
            enter(talk, task.key)
            return talk
        progress = apply(talk.state.progress, StepEnded(key=task.key, outcome="done"))
        talk.state = talk.state.model_copy(update={"progress": progress})
    raise AssertionError(f"{step} was not met")


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize(("said", "step"), [(BATTERY, "battery-off"), (PLUG, "plug-in-hand")])
def test_it_interrupts_the_work_and_the_power_is_proved_off_again(language, said, step):
    talk = worked_on("wired", language)
    spoken = talk.says(*said[language])
    assert talk.state.progress.at == step
    assert talk.state.task.prompt in spoken
    talk.says({"en": "done", "es": "listo"}[language])
    assert talk.state.progress.at == "proven-dead"
    talk.says(*PROVED[language])
    assert talk.state.progress.at == "wired"


def test_no_word_leads_past_it():
    talk = worked_on("wired")
    talk.says("it has a battery", "affirm", "go to power on", "skip", "done")
    assert talk.state.progress.at == "proven-dead"


def test_with_the_power_on_again_it_is_named_as_not_done():
    talk = worked_on("cycles")
    talk.says("it has a battery", "affirm")
    spoken = talk.says("twenty", "affirm")
    assert talk.state.progress.at != "battery-off"
    assert "Not done: Battery disconnected. The power is on again." in spoken
    assert talk.state.progress.ended["battery-off"] == "left_out"
