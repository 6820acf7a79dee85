"""Compares a second recognizer's result with the readings that were read back.

If both recognizers heard the same value, the reading is marked. If they heard different ones, the
technician is asked, even about a value that was only echoed with the next prompt. Anything that
cannot be compared changes nothing: the second recognizer never decides alone.
"""

from __future__ import annotations

from typing import Literal

from handsfree.dialogue import implicit_confirmation
from handsfree.dialogue.proposed_reading import ProposedReading
from handsfree.dialogue.questions.two_heard import TwoHeardQuestion, quantity_meant, unit_meant
from handsfree.dialogue.state import SecondHeard, State
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Job, leaf_side
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import LEAF_SUBJECTS, Subject, Taken
from handsfree.language.meaning import Correction, Meaning, ReadingSaid, ReadingsSaid

Outcome = Literal["agreed", "differed", "unclear"]


def values_in(meaning: Meaning | None) -> tuple[ReadingSaid, ...]:
    """The readings that an utterance gave."""
    match meaning:
        case ReadingSaid():
            return (meaning,)
        case ReadingsSaid(readings=readings):
            return readings
        case Correction(reading=reading):
            return (reading,)
        case _:
            return ()


def waits(state: State) -> bool:
    """True if a reading that was read back is not compared with the second recognizer yet."""
    return any(map(_open, _items(state)))


def is_incomplete(state: State) -> bool:
    """True if the leaf of a value is being asked for: its comparison waits until it is read
    back.
    """
    return state.pending is not None and state.pending.completes_reading


def outcome(state: State, meaning: Meaning | None) -> Outcome:
    """Compares the second recognizer's version of an utterance with what is read back."""
    pairs = _compared(state, meaning)
    if any(second is not None and not _same(item, second) for item, second in pairs):
        return "differed"
    agreed = [second is not None for item, second in pairs if _open(item)]
    return "agreed" if agreed and all(agreed) else "unclear"


def take(turn: Turn, heard: SecondHeard) -> None:
    """Marks the readings that both heard, and asks about the first one heard differently."""
    pairs = _compared(turn.state, heard.meaning)
    items: list[ProposedReading] = []
    seconds: list[ProposedReading | None] = []
    for item, second in pairs:
        same = second is not None and _same(item, second)
        items.append(item.model_copy(update={"second_ear": "agreed"}) if same else item)
        seconds.append(None if same else second)
    question, echoed = turn.state.pending, turn.state.echo
    if any(seconds):
        said_back = question is None and echoed is not None
        asked = TwoHeardQuestion(
            items=tuple(items), seconds=tuple(seconds), unasked=heard.late and said_back
        )
        if said_back:
            implicit_confirmation.restore(turn, None)
        if heard.late:
            turn.wait_for(asked)
        else:
            turn.ask(asked)
    elif items and question is None and echoed is not None:
        implicit_confirmation.renew(turn, echoed.question.with_readings(tuple(items)))
    elif items and question is not None:
        # Only the marks change: nothing is said, and misunderstandings still count.
        turn.set(pending=question.with_readings(tuple(items)))


def _items(state: State) -> tuple[ProposedReading, ...]:
    question = state.pending
    if question is None and state.echo is not None:
        question = state.echo.question
    return () if question is None or question.timed_leaves else question.proposed


def _open(item: ProposedReading) -> bool:
    return item.taken is Taken.SAID and item.second_ear is None


def _compared(
    state: State, meaning: Meaning | None
) -> list[tuple[ProposedReading, ProposedReading | None]]:
    """Each reading with the second recognizer's version of it, or None."""
    items, said = _items(state), list(values_in(meaning))
    if len(said) != sum(map(_open, items)):
        said = []
    pairs: list[tuple[ProposedReading, ProposedReading | None]] = []
    for item in items:
        second = None
        if said and _open(item):
            second = _as_heard(item, said.pop(0), state.progress.job)
        pairs.append((item, second))
    return pairs


def _as_heard(item: ProposedReading, said: ReadingSaid, job: Job) -> ProposedReading | None:
    """The reading as the second recognizer heard it, completed from the first one's.

    None if the value differs and is implausible: that is the second recognizer's error and no
    reason to ask.
    """
    quantity = quantity_meant(item, said)
    subjects = _subjects(item, said, job)
    unit = unit_meant(quantity, said)
    if said.unit is None:
        usual = QUANTITIES[quantity].default_unit(job.sheet.units)
        unit = item.unit if quantity is item.quantity else usual
    if unit is None or not subjects:
        return None
    second = item.model_copy(
        update={"quantity": quantity, "subjects": subjects, "unit": unit, "value": said.value}
    )
    return second if _same(item, second) or QUANTITIES[quantity].plausible(second.measure) else None


def _subjects(item: ProposedReading, said: ReadingSaid, job: Job) -> tuple[Subject, ...]:
    """The subjects that were said, otherwise those of the reading; () if the door lacks them."""
    if said.subject is None:
        return item.subjects
    wanted = LEAF_SUBJECTS if said.subject is Subject.BOTH_LEAVES else (said.subject,)
    return tuple(
        each
        for each in wanted
        if (side := leaf_side(each)) is None or job.opening.leaf(side) is not None
    )


def _same(one: ProposedReading, other: ProposedReading) -> bool:
    return (one.quantity, one.subjects, one.measure) == (
        other.quantity,
        other.subjects,
        other.measure,
    )
