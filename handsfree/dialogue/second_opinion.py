"""What a second recognizer heard in an utterance, held against what is read back.

Where both heard the same value the reading is marked; where they heard different ones the
technician is asked. What cannot be compared changes nothing: the second ear never acts alone.
"""

from __future__ import annotations

from typing import Literal

from handsfree.dialogue import reading_intake
from handsfree.dialogue.pending import AskedTwoHeard, PendingReading, PendingReadings
from handsfree.dialogue.state import Heard, SecondHeard, State
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Job, leaf_side
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import LEAF_SUBJECTS, Subject, Taken
from handsfree.job.unit import Family, Unit, family_of
from handsfree.language.meaning import Correction, Meaning, ReadingSaid, ReadingsSaid
from handsfree.language.wording import sentence

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
    """Whether a value waits for its 'affirm' that the second ear was not compared with."""
    return any(map(_open, _items(state)))


def outcome(state: State, meaning: Meaning | None) -> Outcome:
    """How an utterance, as the second ear heard it, stands to what is read back."""
    pairs = _compared(state, meaning)
    if any(second is not None and not _same(item, second) for item, second in pairs):
        return "differed"
    agreed = [second is not None for item, second in pairs if _open(item)]
    return "agreed" if agreed and all(agreed) else "unclear"


def take(turn: Turn, heard: SecondHeard) -> None:
    """Marks the readings that both heard, and asks about the first that they heard differently."""
    pairs = _compared(turn.state, heard.meaning)
    items: list[PendingReading] = []
    seconds: list[PendingReading | None] = []
    for item, second in pairs:
        same = second is not None and _same(item, second)
        items.append(item.model_copy(update={"second_ear": "agreed"}) if same else item)
        seconds.append(None if same else second)
    if any(seconds):
        asked = AskedTwoHeard(items=tuple(items), seconds=tuple(seconds))
        turn.wait_for(asked)
        if not heard.late:
            ask(turn, asked)
    elif items:
        _mark(turn, tuple(items))


def ask(turn: Turn, asked: AskedTwoHeard) -> None:
    """'I heard three point seven, or three point seven six?'"""
    one, other = asked.two
    w = turn.words
    if (one.quantity, one.subjects) != (other.quantity, other.subjects):
        both = [
            w.reading(" ".join(map(w.subject, each.subjects)), each.quantity, each.value, each.unit)
            for each in asked.two
        ]
    elif one.unit is not other.unit:
        both = [w.measure(each.value, each.unit) for each in asked.two]
    else:
        both = [w.number(each.value) for each in asked.two]
    turn.say(sentence(w.say("two_heard", one=both[0], other=both[1])), "repair")


def choose(turn: Turn, asked: AskedTwoHeard, said: ReadingSaid, heard: Heard) -> None:
    """Takes the one of the two that was said; any other reading replaces them."""
    fitting = [each for each in asked.two if _is_meant(each, said)]
    if not fitting:
        turn.wait_for(None)
        reading_intake.propose(turn, (said,), heard)
        return
    if len(fitting) > 1:
        ask(turn, asked)
        return
    chosen = fitting[0].model_copy(
        update={"clip": heard.clip, "rival": None, "doubt": None, "second_ear": "chosen"}
    )
    items = (*asked.items[: asked.nth], chosen, *asked.items[asked.nth + 1 :])
    seconds = (*asked.seconds[: asked.nth], None, *asked.seconds[asked.nth + 1 :])
    if any(seconds):
        another = AskedTwoHeard(items=items, seconds=seconds)
        turn.wait_for(another)
        ask(turn, another)
    else:
        reading_intake.read_back(turn, items)


def _items(state: State) -> tuple[PendingReading, ...]:
    match state.pending:
        case PendingReading() as item:
            return (item,)
        case PendingReadings(items=items, leaves=()):
            return items
        case _:
            return ()


def _open(item: PendingReading) -> bool:
    return item.taken is Taken.SAID and item.second_ear is None


def _compared(
    state: State, meaning: Meaning | None
) -> list[tuple[PendingReading, PendingReading | None]]:
    """Each reading that waits with the second ear's version of it, None where there is none."""
    items, said = _items(state), list(values_in(meaning))
    if len(said) != sum(map(_open, items)):
        said = []
    pairs: list[tuple[PendingReading, PendingReading | None]] = []
    for item in items:
        second = None
        if said and _open(item):
            second = _as_heard(item, said.pop(0), state.progress.job)
        pairs.append((item, second))
    return pairs


def _as_heard(item: PendingReading, said: ReadingSaid, job: Job) -> PendingReading | None:
    """The reading as the second ear heard it: what it left out is as the first ear had it.

    None where the value is another and none that can be: a slip of this ear is no question.
    """
    quantity = _quantity(item, said)
    subjects = _subjects(item, said, job)
    unit = _unit(quantity, said)
    if said.unit is None:
        usual = QUANTITIES[quantity].default_unit(job.sheet.units)
        unit = item.unit if quantity is item.quantity else usual
    if unit is None or not subjects:
        return None
    second = item.model_copy(
        update={"quantity": quantity, "subjects": subjects, "unit": unit, "value": said.value}
    )
    return second if _same(item, second) or QUANTITIES[quantity].plausible(second.measure) else None


def _quantity(item: PendingReading, said: ReadingSaid) -> Quantity:
    either = said.open_time and item.quantity is Quantity.HOLD_OPEN_TIME
    return item.quantity if either or said.quantity is None else said.quantity


def _subjects(item: PendingReading, said: ReadingSaid, job: Job) -> tuple[Subject, ...]:
    """The subjects that were said, those of the first ear where none was; () where there is none
    of that name."""
    if said.subject is None:
        return item.subjects
    wanted = LEAF_SUBJECTS if said.subject is Subject.BOTH_LEAVES else (said.subject,)
    return tuple(
        each
        for each in wanted
        if (side := leaf_side(each)) is None or job.opening.leaf(side) is not None
    )


def _unit(quantity: Quantity, said: ReadingSaid) -> Unit | None:
    """The unit that was said, where the quantity can have it; pounds of a force are a force."""
    family = QUANTITIES[quantity].family
    if said.unit is Unit.POUND and family is Family.FORCE:
        return Unit.POUND_FORCE
    return said.unit if said.unit is not None and family_of(said.unit) is family else None


def _same(one: PendingReading, other: PendingReading) -> bool:
    return (one.quantity, one.subjects, one.measure) == (
        other.quantity,
        other.subjects,
        other.measure,
    )


def _is_meant(each: PendingReading, said: ReadingSaid) -> bool:
    """Whether an answer names this one of the two; what it leaves out may be either's."""
    unit = _unit(each.quantity, said)
    return (
        said.value == each.value
        and (said.unit is None or unit is each.unit)
        and (said.quantity is None or _quantity(each, said) is each.quantity)
        and (said.subject is None or said.subject in (*each.subjects, Subject.BOTH_LEAVES))
    )


def _mark(turn: Turn, items: tuple[PendingReading, ...]) -> None:
    """Replaces what waits by the same with its marks; nothing is said, and no round is counted."""
    match turn.state.pending:
        case PendingReading():
            turn.set(pending=items[0])
        case PendingReadings() as pending:
            turn.set(pending=pending.model_copy(update={"items": items}))
