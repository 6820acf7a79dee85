"""The reason for skipping a step."""

from __future__ import annotations

from handsfree.dialogue import navigation
from handsfree.dialogue.questions.families import FreeWordsQuestion
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn


class SkipReasonQuestion(FreeWordsQuestion):
    """A step is to be skipped; the next utterance is the reason."""

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Skips the task at hand with the utterance as its reason."""
        if is_word(heard.meaning, "disregard", "negative"):
            self.disregard(turn)
        elif is_word(heard.meaning, "say_again"):
            self.ask(turn)
        else:
            turn.wait_for(None)
            navigation.end(turn, "skipped", heard.text, heard.clip)
        return None

    def repeat(self, turn: Turn) -> None:
        """Asks for the reason again."""
        self.ask(turn)

    def ask(self, turn: Turn) -> None:
        """Asks for the reason ('Say why, or disregard.')."""
        turn.tell("skip_reason", "readback")


def ask_for_reason(turn: Turn) -> None:
    """Has the next utterance taken as the reason for skipping the task at hand."""
    question = SkipReasonQuestion()
    turn.wait_for(question)
    question.ask(turn)
