"""Asks for the reason for skipping a step."""

from __future__ import annotations

from handsfree.dialogue import navigation
from handsfree.dialogue.questions.families import FreeWordsQuestion
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev


class SkipReasonQuestion(FreeWordsQuestion):
    """Takes the next utterance as the reason for skipping steps.

    ``keys`` holds the keys of their tasks; () means only the current task.
    """

    keys: tuple[str, ...] = ()

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Skips the tasks and keeps the utterance as the reason."""
        if is_word(heard.meaning, "disregard", "negative"):
            self.disregard(turn)
        elif is_word(heard.meaning, "say_again"):
            self.ask(turn)
        else:
            turn.wait_for(None)
            self._skip(turn, heard)
        return None

    def repeat(self, turn: Turn) -> None:
        """Asks for the reason again."""
        self.ask(turn)

    def _skip(self, turn: Turn, heard: Heard) -> None:
        here = turn.task.key if turn.task is not None and not turn.between else None
        for key in self.keys:
            if key != here:
                turn.keep(_ended(key, heard))
        if not self.keys or here in self.keys:
            navigation.end(turn, "skipped", heard.text, heard.clip)
        else:
            navigation.prompt_again(turn)

    def ask(self, turn: Turn) -> None:
        """Asks for the reason ('Say why, or disregard.')."""
        if len(self.keys) > 1:
            turn.tell("skip_reasons", "readback", count=len(self.keys))
        else:
            turn.tell("skip_reason", "readback")


def _ended(key: str, heard: Heard) -> ev.StepEnded:
    """The event that ends a skipped task."""
    return ev.StepEnded(key=key, outcome="skipped", reason=heard.text, reason_clip=heard.clip)


def ask_for_reason(turn: Turn, keys: tuple[str, ...] = ()) -> None:
    """Takes the next utterance as the reason for skipping tasks; by default the current one."""
    question = SkipReasonQuestion(keys=keys)
    turn.wait_for(question)
    question.ask(turn)
