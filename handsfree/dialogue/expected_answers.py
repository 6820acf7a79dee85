"""Lists the answers expected now, for the second recognition pass.

The only reading expected is one of the quantity that the step asks for, with its name: most false
recognitions of a reading are bare numbers. It is read back like any other.

A caution, a pause and free words deliberately expect nothing: their words count only if the first
pass recognizes them.
"""

from __future__ import annotations

from handsfree.dialogue.answer_set import NOTHING, AnswerSet, ExpectedReading
from handsfree.dialogue.sentences import BAD_CASE
from handsfree.dialogue.state import State
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.timing.cycle import SPANS

_OBSERVED = frozenset({"in_order", "not_in_order"})


def expected_answers(state: State) -> AnswerSet:
    """The answers expected now; none while the visit stands by or is closed."""
    if state.progress.closed or state.progress.standing_by is not None:
        return NOTHING
    return _of_step(state) if state.pending is None else state.pending.expected


def _of_step(state: State) -> AnswerSet:
    task = state.task
    if task is None or task.key in state.progress.ended:
        return NOTHING
    step = task.step
    if step.caution is not None and task.key not in state.progress.cautioned:
        return NOTHING
    match step.waits:
        case "observation":
            return AnswerSet(choices=_OBSERVED)
        case "choice":
            return AnswerSet(choices=frozenset(option.value for option in step.options))
        case "done":
            if step.own_word is None:
                return AnswerSet(words=frozenset({"done"}))
            return AnswerSet(words=frozenset({step.own_word, BAD_CASE[step.own_word]}))
        case "reading" if step.quantity is not None:
            return AnswerSet(reading=expected_reading(state, step.quantity, task.subject))
        case _:
            return NOTHING


def expected_reading(
    state: State, quantity: Quantity, subject: Subject = Subject.OPENING
) -> ExpectedReading:
    """Describes the usual readings of a quantity in this job."""
    controller = state.procedure.controller
    return ExpectedReading(
        quantity=quantity,
        subject=subject,
        unit=QUANTITIES[quantity].default_unit(state.progress.job.sheet.units),
        scale=controller.range(quantity) if controller is not None else None,
        by_ear=state.times_by_ear and quantity in SPANS,
    )
