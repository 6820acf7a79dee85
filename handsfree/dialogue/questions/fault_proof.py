"""Asks whether a fault is gone, if no step of the visit proves its repair."""

from __future__ import annotations

from handsfree.diagnosis.search_tree import Cause
from handsfree.dialogue import navigation, searching
from handsfree.dialogue.decisions import HAND_OVER
from handsfree.dialogue.open_faults import latest, proof_task, spoken
from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev
from handsfree.journal.fault_events import FaultProved
from handsfree.language.wording import sentence
from handsfree.visit_record.door_fault import DoorFault


class FaultProofQuestion(YesNoQuestion):
    """Asks to check a fault again; yes proves its repair, no leaves it open.

    ``hand_over`` is True if the visit was about to hand the door over.
    """

    key: str
    hand_over: bool = False

    def affirm(self, turn: Turn) -> None:
        """Records the proof and continues."""
        turn.wait_for(None)
        turn.keep(FaultProved(key=self.key, by="looked", what=self._asked(turn)))
        turn.tell("fault_proved", "status")
        back(turn, hand_over=self.hand_over)

    def negative(self, turn: Turn) -> None:
        """Leaves the fault open and continues."""
        turn.wait_for(None)
        turn.tell("fault_stays", "warning")
        back(turn, hand_over=self.hand_over)

    def disregard(self, turn: Turn) -> None:
        """Leaves the fault open and continues."""
        self.negative(turn)

    def repeat(self, turn: Turn) -> None:
        """Asks for the proof ('Check it now. Left leaf, arm loose: is that gone?')."""
        turn.say(self._asked(turn), "readback")

    def _asked(self, turn: Turn) -> str:
        fault = latest(turn, self.key)
        about, _, name = fault.key.partition("/")
        tree = searching.tree_for(turn, name) if about == "search" else None
        causes = tree.causes if tree is not None else ()
        known = next((cause for cause in causes if cause.found == fault.cause), None)
        if isinstance(known, Cause):
            return known.prove
        return turn.words.say("fault_gone", what=sentence(spoken(turn, fault)).rstrip("."))


def prove(turn: Turn, fault: DoorFault, *, hand_over: bool = False) -> None:
    """Asks for the proof of a repair: its step's question or reading, otherwise a separate
    question.

    If that step is still to come, it proves the repair then.
    """
    task = proof_task(turn, fault)
    if task is None and fault.kind == "measured":
        turn.tell("fault_read_again", "status")
        back(turn, hand_over=hand_over)
        return
    if task is None:
        turn.ask(FaultProofQuestion(key=fault.key, hand_over=hand_over))
        return
    ahead = task.key not in turn.state.progress.ended and task != turn.task
    if ahead and not hand_over:
        turn.wait_for(None)
        turn.tell("fault_proved_later", "status", step=task.brief.rstrip(".?! "))
        back(turn, hand_over=False)
        return
    turn.wait_for(None)
    turn.tell("hand_over_prove", "prompt")
    turn.keep(ev.StepEntered(key=task.key, proves=fault.key))
    turn.prompt()


def back(turn: Turn, *, hand_over: bool) -> None:
    """Returns to the hand-over, the running search, the hold, or the current task."""
    turn.wait_for(None)
    if turn.state.progress.search is not None:
        turn.ask(CauseSearchQuestion())
    elif hand_over:
        navigation.go_to(turn, HAND_OVER)
    elif turn.task is not None and turn.task.key in turn.state.progress.ended:
        navigation.go_on(turn)  # a hold, or a gate before the next task
    else:
        navigation.prompt_again(turn)
