"""Asks for the words of a note, or of a defect."""

from __future__ import annotations

from handsfree.dialogue import navigation, searching
from handsfree.dialogue.questions.families import FreeWordsQuestion
from handsfree.dialogue.questions.note_or_answer import (
    NoteOrAnswerQuestion,
    is_answer,
    keep_note,
)
from handsfree.dialogue.questions.search_offer import offer
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn


class NoteQuestion(FreeWordsQuestion):
    """Keeps the next utterance as a note; ``defect`` is true if it describes a defect."""

    defect: bool = False

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Keeps the utterance as a note, whatever was recognized in it."""
        if is_word(heard.meaning, "say_again"):
            self.ask(turn)
            return None
        if is_word(heard.meaning, "disregard") and not self.defect:
            self.disregard(turn)
            return None
        if not self.defect and is_answer(heard.meaning):
            turn.ask(NoteOrAnswerQuestion(text=heard.text, clip=heard.clip))
            return None
        turn.wait_for(None)
        if not is_word(heard.meaning, "disregard"):
            keep_note(turn, heard.text, heard.clip)
        if self.defect:
            _end_defect(turn)
        else:
            navigation.prompt_again(turn)
        return None

    def repeat(self, turn: Turn) -> None:
        """Asks for the words again."""
        self.ask(turn)

    def ask(self, turn: Turn) -> None:
        """Asks for the words ('Say the note.' or 'Say in a few words what is wrong.')."""
        turn.tell("what_is_wrong" if self.defect else "note_go_ahead", "readback")


def _end_defect(turn: Turn) -> None:
    """Ends the task whose answer was a defect, or offers its step's search."""
    task = turn.task
    complaint = searching.complaint_of(turn, task) if task and not turn.between else None
    if complaint is None or not offer(turn, complaint, ends_task=True):
        navigation.end(turn, "failed")


def ask_for_note(turn: Turn, *, defect: bool = False) -> None:
    """Asks for a note in the next utterance."""
    question = NoteQuestion(defect=defect)
    turn.wait_for(question)
    question.ask(turn)
