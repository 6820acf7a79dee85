"""Completes readings from what was said: subject, quantity, unit, plausible range."""

from __future__ import annotations

from handsfree.dialogue import implicit_confirmation, out_of_range
from handsfree.dialogue.expected_answers import expected_reading
from handsfree.dialogue.proposed_reading import ProposedReading, Rival
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.questions.subject import ReadingSubjectQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.job import leaf_side
from handsfree.job.quantity import QUANTITIES, Quantity, SubjectKind
from handsfree.job.reading import LEAF_SUBJECTS, Subject
from handsfree.job.unit import Family, Measure, Unit, family_of
from handsfree.language.meaning import ReadingSaid


def propose(turn: Turn, said: tuple[ReadingSaid, ...], heard: Heard) -> None:
    """Reads one or several readings back, or asks for a missing part."""
    named: list[ReadingSaid] = []
    for one in said:
        quantity = _quantity(turn, one)
        if quantity is None:
            turn.tell("which_quantity", "repair")
            return
        named.append(one.model_copy(update={"quantity": quantity, "open_time": False}))
    if any(_subjects(turn, one) is None for one in named):
        turn.ask(ReadingSubjectQuestion(said=tuple(named), clip=heard.clip))
        return
    each = [_one_of(turn, one, nth, heard) for nth, one in enumerate(named)]
    complete = (_complete(turn, one, alone) for one, alone in zip(named, each, strict=True))
    items = [item for item in complete if item is not None]
    if len(items) != len(named):
        return
    question, said_again = ReadingsQuestion(items=tuple(items)), turn.state.doubted
    if all(item.doubt != "value" for item in items):
        turn.set(doubted=None)
    if said_again in [item.measure for item in items]:
        turn.ask(question)  # an unusual value that was said a second time
    else:
        implicit_confirmation.put(turn, question, heard)


def _one_of(turn: Turn, said: ReadingSaid, nth: int, heard: Heard) -> Heard:
    """The utterance reduced to one of its readings. The sound of several readings is not compared
    with alternatives, so any usual value that sounds like it counts as a rival.
    """
    if not heard.rivals:
        return heard
    rival, quantity = heard.rivals[nth], said.quantity
    may_be: tuple[ReadingSaid, ...] = ()
    if rival is not None and quantity is not None:
        other = said.model_copy(update={"value": rival.value})
        usual = expected_reading(turn.state, quantity)
        said_again = turn.state.doubted == usual.measure(said)
        may_be = (other,) if usual.is_usual(other) and not said_again else ()
    return heard.model_copy(update={"rival": rival, "rivals": (), "may_be": may_be})


def correct(turn: Turn, question: Question, said: ReadingSaid, heard: Heard) -> None:
    """Replaces one reading of a question; parts omitted in the correction stay unchanged."""
    items = question.correctable
    old = _corrected(items, said)
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
    if len(items) == 1:
        propose(turn, (whole,), heard)
        return
    new = _complete(turn, whole, heard)
    if new is not None:
        corrected = tuple(new if item is old else item for item in items)
        turn.ask(ReadingsQuestion(items=corrected, leaves=question.timed_leaves))


def _corrected(items: tuple[ProposedReading, ...], said: ReadingSaid) -> ProposedReading | None:
    """The reading that a correction is about; if there are several, it has to be named."""
    if len(items) == 1:
        return items[0]
    alike = [
        item
        for item in items
        if said.quantity in (None, item.quantity)
        and (said.subject is None or said.subject in item.subjects)
    ]
    return alike[0] if len(alike) == 1 else None


def _complete(turn: Turn, said: ReadingSaid, heard: Heard) -> ProposedReading | None:
    """The complete reading of a known quantity, or None after saying what is wrong with it."""
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
    item = ProposedReading(
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
    """The question about a value that is unusual or has an unsuitable unit."""
    if value is not None:
        return out_of_range.question(turn, quantity, value, unit_said=said.unit is not None)
    w, family = turn.words, QUANTITIES[quantity].family
    return w.say("wrong_unit", quantity=w.quantity(quantity), family=w.name("family", family))


def _likelier(
    turn: Turn, said: ReadingSaid, heard: Heard, value: Measure | None
) -> ProposedReading | None:
    """The usual reading that the sound may have been instead, marked as doubtful.

    It belongs to the same quantity or to the one that the step asks for. None if there is no such
    reading, or if ``value`` was just questioned: a repeated value is meant.
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
    """The unit to question: one probably said with a bare number, or the recognized one if another
    is nearly as likely.
    """
    for other in heard.may_be:
        unit = _unit(turn, other, said.quantity) if said.quantity and other.unit else None
        if other.value == said.value and unit not in (None, value.unit):
            return unit if said.unit is None else value.unit
    return None


def _near(item: ProposedReading, heard: Heard) -> ProposedReading:
    """The reading, with its rival value if another is nearly as likely."""
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
    """True if the current task is about the same kind of subject: a leaf, a plate, a side."""
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
    if said.quantity is not None and QUANTITIES[said.quantity].of is SubjectKind.OPENING:
        return (Subject.OPENING,)
    task = turn.task
    if task is not None and (task.step.quantity is said.quantity or task.subject in LEAF_SUBJECTS):
        return (task.subject,)
    return leaves if len(leaves) == 1 else None


def _exists(turn: Turn, subject: Subject) -> bool:
    side = leaf_side(subject)
    return side is None or turn.job.opening.leaf(side) is not None


def _unit(turn: Turn, said: ReadingSaid, quantity: Quantity) -> Unit | None:
    """The unit that is meant; pounds mean pounds-force for a force. None for the wrong family."""
    facts = QUANTITIES[quantity]
    if said.unit is None:
        return facts.default_unit(turn.job.sheet.units)
    if said.unit is Unit.POUND and facts.family is Family.FORCE:
        return Unit.POUND_FORCE
    return said.unit if family_of(said.unit) is facts.family else None
