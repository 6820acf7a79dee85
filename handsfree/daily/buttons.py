"""The answers that the page offers to the current question, each as words to type."""

from __future__ import annotations

from typing import Literal

from handsfree.dialogue.questions.door_feature import DoorFeatureQuestion
from handsfree.dialogue.questions.open_item import OpenItemQuestion
from handsfree.dialogue.state import State
from handsfree.job.door_feature import FEATURES
from handsfree.job.record import Record
from handsfree.language.door_words import value_name
from handsfree.language.wording import Wording

Look = Literal["good", "bad", "plain"]


class Button(Record):
    """A button: the words that it types, its label (None: the words themselves), its look."""

    say: str
    label: str | None = None
    look: Look = "plain"


class Controls(Record):
    """The controls of a question.

    ``words`` is true if a line may be typed, ``free`` if it is kept verbatim, ``note`` if a note
    may accompany the answer. ``wrong`` is the answer that needs a note. ``promise`` is true if
    people's safety depends on the answer, which then takes a second tap.
    """

    buttons: tuple[Button, ...] = ()
    words: bool = False
    free: bool = False
    note: bool = False
    wrong: str = ""
    promise: bool = False

    @property
    def answers(self) -> tuple[str, ...]:
        """The words of the buttons."""
        return tuple(button.say for button in self.buttons)


def controls_of(state: State) -> Controls:
    """The controls for the pending question; a typed line if nothing else fits."""
    w, question = state.words, state.pending
    if isinstance(question, DoorFeatureQuestion):
        return Controls(buttons=_feature_buttons(w, question.feature))
    if isinstance(question, OpenItemQuestion):
        return Controls(buttons=_decisions(w, question))
    if question is not None and question.free_words:
        return Controls(words=True, free=True)
    if question is not None and question.yes_or_no:
        return Controls(buttons=_yes_no(w))
    if question is not None:
        return Controls(words=True)
    return _of_step(state, w)


def _of_step(state: State, w: Wording) -> Controls:
    task = state.task
    if task is None:
        return Controls(words=True)
    step = task.step
    absent = (Button(say=w.say("page_skip"), label="not_there"),) if step.may_skip else ()
    if step.caution is not None and task.key not in state.progress.cautioned:
        return Controls(
            buttons=(Button(say=w.name("word", step.word or "clear"), look="good"),), promise=True
        )
    match step.waits:
        case "observation":
            good = Button(say=w.name("word", "pass"), label="ok", look="good")
            bad = Button(say=w.name("word", "fail"), label="not_ok", look="bad")
            return Controls(buttons=(good, bad, *absent), note=True, wrong=bad.say)
        case "choice":
            return Controls(buttons=tuple(Button(say=option.say) for option in step.options))
        case "done":
            return Controls(buttons=(Button(say=w.name("word", "done"), look="good"),))
        case "caution":
            return Controls(
                buttons=(Button(say=w.name("word", step.word or "clear"), look="good"),),
                promise=True,
            )
        case _:
            return Controls(words=True)


def _feature_buttons(w: Wording, name: str) -> tuple[Button, ...]:
    feature = FEATURES[name]
    if feature.yes_or_no:
        answers = _yes_no(w)
    else:
        answers = tuple(Button(say=value_name(w, name, value)) for value in feature.values)
    unsure = () if feature.known else (Button(say=w.say("page_dont_know"), label="dont_know"),)
    return (*answers, *unsure)


def _decisions(w: Wording, question: OpenItemQuestion) -> tuple[Button, ...]:
    """The decisions that an owner can make: nobody adjusts a door on the daily walk."""
    later = Button(say=w.say("page_done_later"))
    if question.item.kind == "skipped":
        return (Button(say=w.say("page_not_applicable"), label="not_there"), later)
    return (Button(say=w.say("page_tagged_out"), look="good"), later)


def _yes_no(w: Wording) -> tuple[Button, ...]:
    return (
        Button(say=w.say("page_affirm"), label="yes"),
        Button(say=w.say("page_negative"), label="no"),
    )
