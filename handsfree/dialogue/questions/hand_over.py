"""Before hand-over, at a hold and at a gate: a decision on a safety item that is open."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.decisions import HAND_OVER, decide, onward, undecided
from handsfree.dialogue.gates import put_right_too_often
from handsfree.dialogue.open_items import OpenItem
from handsfree.dialogue.questions.accepted_by import AcceptedByQuestion
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev
from handsfree.journal.search_events import SearchEnded
from handsfree.language.meaning import Word
from handsfree.procedure.step import Task

_SENTENCES = {
    HAND_OVER: "hand_over_ask",
    "step": "hold_ask",
    "learn_cycle": "gate_learn_cycle",
    "settings_lock": "gate_settings_lock",
    "people": "gate_people",
}
"""The sentence that asks for a decision, by where it is asked."""


class HandOverQuestion(Question):
    """Asks for the decision about something that is not as it should be.

    It cannot be dropped or skipped: no door goes back to people without a decision. ``place`` is
    where it is asked: before the hand-over, or before the danger of a gate, or a step.
    """

    expected: ClassVar[AnswerSet] = AnswerSet(
        words=frozenset({"put_right", "tagged_out", "accepted"})
    )
    admits: ClassVar[frozenset[str]] = frozenset({"withdraw_run", "go_back", "withdraw"})

    item: OpenItem
    place: str = HAND_OVER

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Keeps the decision; 'put right' leads to the step that proves it."""
        match heard.meaning:
            case Word(kind="tagged_out"):
                return decide(turn, heard, self.item, "tagged_out", place=self.place)
            case Word(kind="accepted"):
                turn.ask(AcceptedByQuestion(item=self.item, place=self.place))
                return None
            case Word(kind="put_right") if put_right_too_often(turn, self.item):
                turn.tell("hold_no_more", "repair")
                return None
            case Word(kind="put_right"):
                return self._put_right(turn, heard)
            case _:
                return heard

    def repeat(self, turn: Turn) -> None:
        """Asks about the item.

        For example: 'Before you hand over: left leaf, opening time fails. Put right, ...?'
        """
        what = self.item.what.rstrip(".")
        turn.tell(_SENTENCES[self.place], "warning", what=what)

    def hint(self, turn: Turn) -> str:
        """The words that decide."""
        return turn.words.say("hand_over_words")

    def _put_right(self, turn: Turn, heard: Heard) -> Heard | None:
        """Enters the task whose answer proves it; an uncured complaint is proved by the word."""
        about, _, name = self.item.key.partition("/")
        if about == "search":
            title = turn.state.progress.uncured[name]
            turn.keep(SearchEnded(tree=name, title=title, outcome="cured"))
            return onward(turn, heard, self.place)
        proof = next((task for task in turn.state.tasks if self._is_proved_by(task)), None)
        if proof is None:
            turn.ask_again()
            return None
        turn.wait_for(None)
        turn.tell("hand_over_prove", "prompt")
        turn.keep(ev.StepEntered(key=proof.key, proves=self.item.key))
        turn.prompt()
        return None

    def _is_proved_by(self, task: Task) -> bool:
        about, _, name = self.item.key.partition("/")
        if task.subject != about:
            return False
        return task.step.fact == name or task.step.quantity == self.item.quantity is not None


def ask_undecided(turn: Turn) -> bool:
    """Asks for the first decision that is missing before hand-over; False when none is."""
    items = undecided(turn)
    if items:
        turn.ask(HandOverQuestion(item=items[0]))
    return bool(items)
