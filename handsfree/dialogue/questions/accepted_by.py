"""Asks who accepts an item that is not OK."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.decisions import HAND_OVER, decide, onward
from handsfree.dialogue.open_items import OpenItem
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import Word


class AcceptedByQuestion(Question):
    """Asks for the name of the person who accepts an open item; keeps the name verbatim."""

    free_words: ClassVar[bool] = True
    keeps_sound: ClassVar[bool] = True

    item: OpenItem
    place: str = HAND_OVER

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Keeps the name with its sound; 'no' and 'disregard' ask for the decision again."""
        if is_word(heard.meaning, "say_again"):
            self.repeat(turn)
            return None
        if is_word(heard.meaning, "disregard", "negative"):
            return onward(turn, heard, self.place)
        if isinstance(heard.meaning, Word) or heard.text.strip() == "":
            self.repeat(turn)  # no name
            return None
        return decide(turn, heard, self.item, "accepted", heard.text, self.place)

    def repeat(self, turn: Turn) -> None:
        """Asks who accepts the item ('Who accepts it? Say the name.')."""
        turn.tell("hand_over_who", "readback")

    def hint(self, turn: Turn) -> str:
        """A hint that a name is expected ('Who accepts it? Say the name.')."""
        return turn.words.say("hand_over_who")
