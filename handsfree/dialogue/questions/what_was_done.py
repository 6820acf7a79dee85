"""Asks what was done about a fault."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.fact_filing import end_tasks
from handsfree.dialogue.open_faults import as_found, latest, touched
from handsfree.dialogue.questions.fault_proof import back, prove
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.fault_kinds import MISTAKEN
from handsfree.job.job import Fact
from handsfree.journal.fault_events import FaultProved, FaultWorked
from handsfree.language.meaning import Choice, Word, Worked
from handsfree.language.wording import sentence

NOTHING_DONE = "nothing"


class WhatWasDoneQuestion(Question):
    """Asks what was done about the fault ``key``: adjusted, repaired, replaced, or nothing.

    ``facts`` holds the observations that have just found it OK. Their tasks end with the answer,
    and the question cannot be dropped. ``hand_over`` is True if the visit was about to hand the
    door over.
    """

    expected: ClassVar[AnswerSet] = AnswerSet(words=frozenset({"put_right"}))
    admits: ClassVar[frozenset[str]] = frozenset({"worked", "put_right"})

    key: str
    facts: tuple[Fact, ...] = ()
    hand_over: bool = False

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Keeps the answer, and asks for the proof unless it was just given."""
        match heard.meaning:
            case Worked(value=value, part=part):
                done = FaultWorked(key=self.key, work=value, part=part, clip=heard.clip)
            case Word(kind="put_right"):
                done = FaultWorked(key=self.key, work="put_right", clip=heard.clip)
            case Choice(value="none"):
                done = FaultWorked(key=self.key, work=NOTHING_DONE, clip=heard.clip)
            case _:
                return heard
        turn.wait_for(None)
        keep_work(turn, done)
        if self.facts:
            self._go_on(turn)
        elif done.work in (NOTHING_DONE, MISTAKEN):
            back(turn, hand_over=self.hand_over)
        else:
            prove(turn, latest(turn, self.key), hand_over=self.hand_over)
        return None

    def disregard(self, turn: Turn) -> None:
        """Drops the question; asks again if the answer was 'OK'."""
        if self.facts:
            self.repeat(turn)
        else:
            back(turn, hand_over=self.hand_over)

    def repeat(self, turn: Turn) -> None:
        """Asks what was done ('Left plate, opens the door: what was done? ...')."""
        what = sentence(as_found(turn, latest(turn, self.key))).rstrip(".")
        turn.tell("fault_work_ask", "readback", what=what)

    def hint(self, turn: Turn) -> str:
        """The possible kinds of work on a fault."""
        return turn.words.say("fault_work_words")

    def _go_on(self, turn: Turn) -> None:
        """Continues with the next fault that the observations are about, or ends their tasks."""
        fault = latest(turn, self.key)
        if fault.kind == "named" and fault.work not in (NOTHING_DONE, MISTAKEN):
            turn.keep(FaultProved(key=fault.key, by="observation", what=self.facts[0].name))
        if not explain(turn, self.facts, asked=self.key):
            end_tasks(turn, self.facts)


def explain(turn: Turn, facts: tuple[Fact, ...], asked: str | None = None) -> bool:
    """Asks what was done about each fault that facts found OK; False if nothing is left.

    The observation proves a repair that was reported before.
    """
    left = []
    for fault in touched(turn, facts):
        if fault.work in (None, NOTHING_DONE):
            left.append(fault.key)
        elif fault.kind == "named" and fault.proved is None:
            turn.keep(FaultProved(key=fault.key, by="observation", what=facts[0].name))
    after = left[left.index(asked) + 1 :] if asked in left else left
    if not after:
        return False
    turn.ask(WhatWasDoneQuestion(key=after[0], facts=facts))
    return True


def take(turn: Turn, heard: Heard, said: Worked, key: str) -> None:
    """Takes the work said to be done on one fault: asks for the kind of work, or for the proof."""
    fault = latest(turn, key)
    if said.again:
        prove(turn, fault, hand_over=said.hand_over)
        return
    named = said.value != "put_right"
    if not named and fault.kind != "measured" and fault.work in (None, NOTHING_DONE):
        turn.ask(WhatWasDoneQuestion(key=key, hand_over=said.hand_over))
        return
    turn.wait_for(None)
    if named or fault.work is None:
        keep_work(turn, FaultWorked(key=key, work=said.value, part=said.part, clip=heard.clip))
    if said.value in (NOTHING_DONE, MISTAKEN):
        back(turn, hand_over=said.hand_over)
    else:
        prove(turn, latest(turn, key), hand_over=said.hand_over)


def keep_work(turn: Turn, done: FaultWorked) -> None:
    """Records the work and says it back."""
    turn.keep(done)
    if done.work == NOTHING_DONE:
        turn.tell("fault_stays", "warning")
        return
    if done.work == "put_right":
        return  # the word that was just said
    w, part = turn.words, done.part
    what = w.name("work", done.work) + (f", {w.name('part', part)}" if part else "")
    turn.say(sentence(what), "status")
