"""Handles faults and repairs named at any step: 'I found the left arm loose', 'replaced the
arm'.
"""

from __future__ import annotations

from handsfree.dialogue import grouped_steps, navigation
from handsfree.dialogue.open_faults import open_faults
from handsfree.dialogue.questions.fault_found import FaultFoundQuestion
from handsfree.dialogue.questions.fault_place import FaultPlaceQuestion
from handsfree.dialogue.questions.what_was_done import take
from handsfree.dialogue.questions.which_fault import WhichFaultQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.fault_kinds import FAULT_KINDS, places
from handsfree.job.reading import LEAF_SUBJECTS, Subject
from handsfree.language.item_answers import ItemsSaid
from handsfree.language.meaning import Found, Worked
from handsfree.visit_record.door_fault import DoorFault

_PLATES = (Subject.LEFT_PLATE, Subject.RIGHT_PLATE)


def found(turn: Turn, said: Found, heard: Heard, rest: ItemsSaid | None = None) -> None:
    """Reads a named fault back; asks for its place if the current step does not tell it.

    ``rest`` is what else the utterance named; it comes after the answer.
    """
    kind = FAULT_KINDS[said.value]
    there = places(kind, turn.job.opening)
    if said.subject is not None and said.subject not in there:
        turn.tell("no_such", "repair", subject=turn.words.subject(said.subject))
        return
    at_hand = _subject_at_hand(turn)
    place = said.subject or (at_hand if at_hand in there else None)
    if place is None and (len(there) == 1 or Subject.OPENING in there):
        place = there[0] if len(there) == 1 else Subject.OPENING
    if place is not None:
        turn.ask(FaultFoundQuestion(subject=place, name=said.value, clip=heard.clip, rest=rest))
        return
    sides = _PLATES if kind.place == "plate" else LEAF_SUBJECTS
    turn.ask(FaultPlaceQuestion(name=said.value, places=sides, clip=heard.clip, rest=rest))


def _subject_at_hand(turn: Turn) -> Subject | None:
    """What the step at hand is about; None where one question is about several."""
    asked = {task.subject for task in grouped_steps.group_at(turn.state)}
    if turn.task is None or turn.between or len(asked) > 1:
        return None
    return turn.task.subject


def worked(turn: Turn, said: Worked, heard: Heard) -> None:
    """Takes the work done on the open fault; asks which fault if there are several."""
    keys = [said.about] if said.about else [fault.key for fault in _meant(turn, said)]
    if not keys:
        turn.tell("fault_none", "repair")
        if not turn.ask_again():
            navigation.prompt_again(turn)
    elif len(keys) == 1:
        take(turn, heard, said, keys[0])
    else:
        turn.ask(WhichFaultQuestion(keys=tuple(keys), said=said, clip=heard.clip))


def _meant(turn: Turn, said: Worked) -> list[DoorFault]:
    """The open faults of the named part, or all of them; those of the current task come first."""
    faults, task = open_faults(turn), turn.task
    of_part = [f for f in faults if said.part is not None and f.name.startswith(said.part)]
    at_hand = task.subject if task is not None else None
    return sorted(of_part or faults, key=lambda fault: fault.subject != at_hand)
