"""Completing what was said to a reading: subject, quantity, unit, plausible range."""

from __future__ import annotations

from handsfree.dialogue import out_of_range, sentences
from handsfree.dialogue.pending import (
    AskedOneOfTwo,
    AskedSubject,
    PendingReading,
    PendingReadings,
    Rival,
)
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.job import leaf_side
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import LEAF_SUBJECTS, Subject, Taken
from handsfree.job.unit import Family, Measure, Unit, family_of
from handsfree.language.meaning import ReadingSaid
from handsfree.language.wording import Wording, sentence

_ABOUT_THE_OPENING = (Quantity.CLEAR_WIDTH, Quantity.CYCLES, Quantity.NEXT_SERVICE)


def propose(turn: Turn, said: tuple[ReadingSaid, ...], heard: Heard) -> None:
    """Reads one or several readings back, or asks for what one of them lacks."""
    named: list[ReadingSaid] = []
    for one in said:
        quantity = _quantity(turn, one)
        if quantity is None:
            turn.tell("which_quantity", "repair")
            return
        named.append(one.model_copy(update={"quantity": quantity, "open_time": False}))
    if any(_subjects(turn, one) is None for one in named):
        turn.wait_for(AskedSubject(said=tuple(named), clip=heard.clip))
        turn.tell("which_leaf", "repair")
        return
    items = [item for one in named if (item := _complete(turn, one, heard)) is not None]
    if len(items) != len(named):
        return
    if all(item.doubt != "value" for item in items):
        turn.set(doubted=None)
    read_back(turn, tuple(items))


def read_back(
    turn: Turn, items: tuple[PendingReading, ...], *, leaves: tuple[Subject, ...] = ()
) -> None:
    """Says what waits for 'affirm'; ``leaves`` are those that the clock runs for."""
    if len(items) == 1 and not leaves:
        turn.wait_for(items[0])
    else:
        turn.wait_for(PendingReadings(items=items, leaves=leaves))
    turn.say(_spoken(turn.words, items), "readback")


def correct(
    turn: Turn,
    pending: tuple[PendingReading, ...],
    said: ReadingSaid,
    heard: Heard,
    leaves: tuple[Subject, ...] = (),
) -> None:
    """Replaces one pending reading; what the correction leaves out stays as it was."""
    old = _corrected(pending, said)
    if old is None:
        turn.tell("which_quantity", "repair")
        return
    one = old.subjects[0] if len(old.subjects) == 1 else Subject.BOTH_LEAVES
    same_quantity = said.quantity is None or said.quantity is old.quantity
    whole = said.model_copy(
        update={
            "subject": said.subject or one,
            "quantity": said.quantity or old.quantity,
            "unit": said.unit or (old.unit if same_quantity else None),
            "open_time": False,
        }
    )
    if len(pending) == 1:
        propose(turn, (whole,), heard)
        return
    new = _complete(turn, whole, heard)
    if new is not None:
        items = tuple(new if item is old else item for item in pending)
        read_back(turn, items, leaves=leaves)


def one_of_two(turn: Turn, pending: PendingReading) -> bool:
    """After a refusal: asks which of two values that sound alike it was; False if there is none."""
    rival = pending.rival
    if rival is None:
        return False
    facts = QUANTITIES[pending.quantity]
    if not facts.plausible(Measure(value=rival.value, unit=pending.unit)):
        return False
    turn.wait_for(AskedOneOfTwo(reading=pending, rival=rival))
    ask_one_of_two(turn, pending)
    return True


def ask_one_of_two(turn: Turn, pending: PendingReading) -> None:
    """'Fifteen or fifty: one five, or five zero?'"""
    w, rival = turn.words, pending.rival
    if rival is None:
        return
    question = w.say(
        "one_of_two" if rival.one else "which_value",
        one=rival.one,
        other=rival.other,
        one_digits=w.number(pending.value),
        other_digits=w.number(rival.value),
    )
    turn.say(sentence(question), "repair")


def choose_one(turn: Turn, asked: AskedOneOfTwo, said: ReadingSaid, heard: Heard) -> None:
    """Takes the value that was chosen of the two; any other reading replaces them."""
    reading = asked.reading
    same = said.quantity in (None, reading.quantity) and (
        said.subject is None or (said.subject,) == reading.subjects
    )
    values = (reading.value, asked.rival.value)
    if same and said.unit in (None, reading.unit) and said.value in values:
        chosen = reading.model_copy(
            update={
                **{"value": said.value, "clip": heard.clip, "rival": None, "doubt": None},
                **{"second_ear": None},  # it is heard anew in this answer
            }
        )
        read_back(turn, (chosen,))
        return
    turn.wait_for(None)
    propose(turn, (said,), heard)


def _spoken(w: Wording, items: tuple[PendingReading, ...]) -> str:
    """Readings as they are read back; the times of one run share their leaf and unit."""
    if items[0].taken is not Taken.BY_EAR:
        return " ".join(_spoken_reading(w, item) for item in items)
    leaves = dict.fromkeys(item.subjects[0] for item in items)
    return " ".join(_spoken_run(w, [i for i in items if i.subjects[0] is leaf]) for leaf in leaves)


def _spoken_reading(w: Wording, item: PendingReading) -> str:
    spoken = sentences.readback(w, item.subjects, item.quantity, item.measure)
    match item.doubt:
        case "value":
            return w.say("doubtful", reading=spoken)
        case "unit":
            return w.say("unit_doubtful", reading=spoken, unit=w.units(item.unit))
        case "rival" if item.rival is not None:
            one, other = item.rival.one, item.rival.other
            if not one:
                one, other = w.number(item.value), w.number(item.rival.value)
            return w.say("rival_doubtful", reading=spoken, one=one.capitalize(), other=other)
        case _:
            return spoken


def _spoken_run(w: Wording, items: list[PendingReading]) -> str:
    times = ", ".join(f"{w.quantity(item.quantity)} {w.number(item.value)}" for item in items)
    return sentence(f"{w.subject(items[0].subjects[0])}, {times}, {w.units(items[0].unit)}")


def _corrected(pending: tuple[PendingReading, ...], said: ReadingSaid) -> PendingReading | None:
    """The pending reading that a correction is about; of several it has to be named."""
    if len(pending) == 1:
        return pending[0]
    alike = [
        item
        for item in pending
        if said.quantity in (None, item.quantity)
        and (said.subject is None or said.subject in item.subjects)
    ]
    return alike[0] if len(alike) == 1 else None


def _complete(turn: Turn, said: ReadingSaid, heard: Heard) -> PendingReading | None:
    """The reading, or None after saying what is wrong with it. Its quantity is known."""
    quantity, subjects = said.quantity, _subjects(turn, said)
    if quantity is None or subjects is None:
        turn.tell("which_quantity", "repair")
        return None
    for subject in subjects:
        if not _exists(turn, subject):
            turn.tell("no_such", "repair", subject=turn.words.subject(subject))
            return None
    unit = _unit(turn, said, quantity)
    value = None if unit is None else Measure(value=said.value, unit=unit)
    trouble = _trouble(turn, said, quantity, value)
    elsewhere = any(_quantity(turn, other) is not quantity for other in heard.may_be[:1])
    if (trouble or elsewhere) and (likelier := _likelier(turn, said, heard, value)) is not None:
        return likelier
    if trouble:
        if value is not None:
            turn.wait_for(None)
            turn.set(doubted=value)
        turn.say(trouble, "repair")
        return None
    assert value is not None
    doubt = _unit_doubted(turn, said, heard, value)
    item = PendingReading(
        quantity=quantity,
        subjects=subjects,
        value=said.value,
        unit=value.unit if doubt is None else doubt,
        taken=heard.taken,
        clip=heard.clip,
        rival=heard.rival,
        doubt=None if doubt is None else "unit",
    )
    return _near(item, heard)


def _trouble(
    turn: Turn, said: ReadingSaid, quantity: Quantity, value: Measure | None
) -> str | None:
    """What is asked about a value whose unit does not fit, or that is not usual."""
    if value is not None:
        return out_of_range.question(turn, quantity, value, unit_said=said.unit is not None)
    w, family = turn.words, QUANTITIES[quantity].family
    return w.say("wrong_unit", quantity=w.quantity(quantity), family=w.name("family", family))


def _likelier(
    turn: Turn, said: ReadingSaid, heard: Heard, value: Measure | None
) -> PendingReading | None:
    """The usual value that the sound may have been instead, of this quantity or the one that is
    waited for, in doubt.

    None where there is none, or where ``value`` was asked about just before: who says it
    again means it.
    """
    if not heard.may_be or (value is not None and turn.state.doubted == value):
        return None
    instead = heard.may_be[0].model_copy(update={"subject": said.subject})
    quantity = _quantity(turn, instead)
    alone = heard.model_copy(update={"may_be": (), "rival": None})
    item = _complete(turn, instead.model_copy(update={"quantity": quantity}), alone)
    turn.set(doubted=value)
    return None if item is None else item.model_copy(update={"doubt": "value"})


def _unit_doubted(turn: Turn, said: ReadingSaid, heard: Heard, value: Measure) -> Unit | None:
    """The unit to be named with the doubt: one that was probably said with a bare number, or
    the one that was heard, where another is nearly as likely.
    """
    for other in heard.may_be:
        unit = _unit(turn, other, said.quantity) if said.quantity and other.unit else None
        if other.value == said.value and unit not in (None, value.unit):
            return unit if said.unit is None else value.unit
    return None


def _near(item: PendingReading, heard: Heard) -> PendingReading:
    """The reading with the value that is nearly as likely as its own, where there is one."""
    other = next((each.value for each in heard.may_be if each.value != item.value), None)
    if item.doubt is not None or other is None:
        return item
    rival = item.rival
    if rival is None or rival.value != other:
        rival = Rival(value=other)
    return item.model_copy(update={"rival": rival, "doubt": "rival"})


def _quantity(turn: Turn, said: ReadingSaid) -> Quantity | None:
    waited = turn.task.step.quantity if turn.task else None
    if said.open_time and waited is Quantity.HOLD_OPEN_TIME:
        return waited
    if said.quantity is None and said.subject and not _like(turn, said.subject):
        return None
    return said.quantity or waited


def _like(turn: Turn, subject: Subject) -> bool:
    """Whether the task at hand is about such a thing: a plate's value answers no leaf."""
    leaves = (*LEAF_SUBJECTS, Subject.BOTH_LEAVES)
    at_hand = turn.task.subject if turn.task else None
    if subject in leaves:
        return at_hand in LEAF_SUBJECTS
    return at_hand is not None and subject.split()[-1] == at_hand.split()[-1]


def _subjects(turn: Turn, said: ReadingSaid) -> tuple[Subject, ...] | None:
    leaves = tuple(s for s in LEAF_SUBJECTS if _exists(turn, s))
    if said.subject is Subject.BOTH_LEAVES:
        return leaves
    if said.subject is not None:
        return (said.subject,)
    if said.quantity in _ABOUT_THE_OPENING:
        return (Subject.OPENING,)
    task = turn.task
    if task is not None and (task.step.quantity is said.quantity or task.subject in LEAF_SUBJECTS):
        return (task.subject,)
    return leaves if len(leaves) == 1 else None


def _exists(turn: Turn, subject: Subject) -> bool:
    side = leaf_side(subject)
    return side is None or turn.job.opening.leaf(side) is not None


def _unit(turn: Turn, said: ReadingSaid, quantity: Quantity) -> Unit | None:
    """The unit meant: pounds are a force where a force is read; another family is None."""
    facts = QUANTITIES[quantity]
    if said.unit is None:
        return facts.default_unit(turn.job.sheet.units)
    if said.unit is Unit.POUND and facts.family is Family.FORCE:
        return Unit.POUND_FORCE
    return said.unit if family_of(said.unit) is facts.family else None
