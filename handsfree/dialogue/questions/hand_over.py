"""Asks for a decision on an open safety item: before hand-over, at a hold, or at a gate."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.decisions import HAND_OVER, decide, named, undecided
from handsfree.dialogue.gates import put_right_too_often
from handsfree.dialogue.open_items import OpenItem
from handsfree.dialogue.questions.accepted_by import AcceptedByQuestion
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.journal.events import StepEntered
from handsfree.language.meaning import Word, Worked
from handsfree.visit_record.faults import latest_occurrence

_SENTENCES = {
    HAND_OVER: "hand_over_ask",
    "step": "hold_ask",
    "learn_cycle": "gate_learn_cycle",
    "settings_lock": "gate_settings_lock",
    "people": "gate_people",
}
"""The sentence that asks for a decision, by the place where it is asked."""


class HandOverQuestion(Question):
    """Asks for a decision on an open safety item.

    It cannot be dropped or skipped: no door returns to use without a decision. ``place`` is where
    it is asked: before the hand-over, at a gate (by its danger), or at a step.
    """

    expected: ClassVar[AnswerSet] = AnswerSet(
        words=frozenset({"put_right", "measure_again", "tagged_out", "accepted"})
    )
    admits: ClassVar[frozenset[str]] = frozenset(
        {*("withdraw_run", "go_back", "withdraw"), *("found", "worked", "put_right")}
    )

    item: OpenItem
    place: str = HAND_OVER

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Keeps the decision; 'put right' leads to the work done and its proof.

        'Measure again' leads to the reading and records no work.
        """
        match heard.meaning:
            case Word(kind="tagged_out"):
                return decide(turn, heard, self.item, "tagged_out", place=self.place)
            case Word(kind="accepted"):
                turn.ask(AcceptedByQuestion(item=self.item, place=self.place))
                return None
            case Word(kind="put_right") if self.item.kind == "skipped":
                _ask_step(turn, self.item.key)
                return None
            case Word(kind="put_right" | "measure_again") if put_right_too_often(turn, self.item):
                turn.tell("hold_no_more", "repair")
                return None
            case Word(kind="put_right"):
                return self._about(turn, heard, again=False)
            case Word(kind="measure_again") if self.item.quantity is not None:
                return self._about(turn, heard, again=True)
            case _:
                return heard

    def repeat(self, turn: Turn) -> None:
        """Asks about the item.

        For example: 'Before you hand over: left leaf, swings freely, not OK. Put right, ...?'
        """
        what, again = named(turn, self.item), self.item.kind == "close"
        if again:
            what = turn.words.say("hand_over_close", what=what)
        turn.tell(_SENTENCES[self.place], "warning", what=what)
        if again:
            turn.tell("hand_over_measure", "warning")

    def hint(self, turn: Turn) -> str:
        """The possible decisions."""
        return turn.words.say("hand_over_words")

    def _about(self, turn: Turn, heard: Heard, *, again: bool) -> Heard | None:
        """The utterance, completed with the fault that it is about."""
        key = self.item.key
        if latest_occurrence(turn.state.progress.faults, key) is None:
            turn.ask_again()
            return None
        meant = Worked(
            value="nothing" if again else "put_right",
            about=key,
            hand_over=self.place == HAND_OVER,
            again=again,
        )
        return heard.model_copy(update={"meaning": meant})


def _ask_step(turn: Turn, key: str) -> None:
    """Repeats a step that was skipped."""
    turn.wait_for(None)
    turn.keep(StepEntered(key=key))
    turn.prompt()


def ask_now(turn: Turn) -> None:
    """Asks for a decision where 'taken out of service' or 'accepted by owner' was said at a step.

    It is about the latest fault that is open; without one there is nothing to decide.
    """
    hands_over = any(step.stage == HAND_OVER for step in turn.state.procedure.steps)
    if not hands_over or turn.between or turn.state.pending is not None:
        turn.say(turn.hint, "repair")
    elif items := undecided(turn):
        faults = [item for item in items if item.kind != "skipped"]
        turn.ask(HandOverQuestion(item=(faults or items)[-1], place="step"))
    else:
        turn.tell("fault_none", "repair")


def ask_undecided(turn: Turn) -> bool:
    """Asks for the first decision missing before hand-over; False if none is missing."""
    items = undecided(turn)
    if items:
        turn.ask(HandOverQuestion(item=items[0]))
    return bool(items)
