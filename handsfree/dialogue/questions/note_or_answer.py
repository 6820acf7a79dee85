"""Asks whether words after 'note' were an answer: 'no' may have been heard as 'note'."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue import navigation
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.turn import Turn
from handsfree.job.closed_lists import COMPLAINTS
from handsfree.journal import events as ev
from handsfree.language.meaning import (
    Choice,
    Correction,
    FactSaid,
    Meaning,
    ReadingSaid,
    ReadingsSaid,
    Word,
)


class NoteOrAnswerQuestion(YesNoQuestion):
    """Asks whether words that could answer a step are meant as a note; ``clip`` is their sound."""

    text: str
    clip: str | None = None
    keeps_sound: ClassVar[bool] = True

    def affirm(self, turn: Turn) -> None:
        """Keeps the note and returns to the current task."""
        turn.wait_for(None)
        keep_note(turn, self.text, self.clip)
        navigation.prompt_again(turn)

    def negative(self, turn: Turn) -> None:
        """Keeps nothing, and asks the step again."""
        turn.wait_for(None)
        navigation.prompt_again(turn)

    def repeat(self, turn: Turn) -> None:
        """Asks it again ('Was that a note: no?')."""
        turn.tell("note_or_answer", "readback", text=self.text)


def is_answer(meaning: Meaning | None) -> bool:
    """True for words that answer a step or a question; a complaint is a note as well."""
    if isinstance(meaning, Choice):
        return meaning.value not in COMPLAINTS
    return isinstance(meaning, Word | ReadingSaid | ReadingsSaid | FactSaid | Correction)


def keep_note(turn: Turn, text: str, clip: str | None) -> None:
    """Keeps words as a note at the current task."""
    turn.keep(ev.NoteKept(step_key=turn.state.progress.at, text=text, clip=clip))
    turn.tell("note_kept", "status")
