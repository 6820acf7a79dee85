"""The answers that one touch may give."""

from __future__ import annotations

from handsfree.dialogue import sentences
from handsfree.dialogue.state import State


def choices_of(state: State) -> tuple[str, ...]:
    """The answers to the current step that a touch may give; a caution needs its spoken word."""
    step = None if state.task is None else state.task.step
    if step is None:
        return ()
    match step.waits:
        case "choice":
            return tuple(option.say for option in step.options)
        case "observation":
            return sentences.observation_words(state.words, step)
        case _:
            return ()
