"""Settles a fact that contradicts the known facts about the leaves and motors."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.questions.families import DroppableQuestion
from handsfree.dialogue.questions.jog import jog
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.handing import HandFault
from handsfree.job.job import Fact
from handsfree.language.door_words import clash_words
from handsfree.language.meaning import Word


class HandsQuestion(DroppableQuestion):
    """Holds contradictory facts until the right ones were said or a jog has shown them.

    *Affirm* does not file them. ``spoken`` is their readback, ``clashes`` what they contradict.
    """

    expected: ClassVar[AnswerSet] = AnswerSet(
        words=frozenset({"jog", "disregard"}), choices=frozenset({"left", "right", "push", "pull"})
    )

    facts: tuple[Fact, ...]
    spoken: str
    clashes: tuple[HandFault, ...]

    @property
    def _of_motors(self) -> bool:
        return any(clash.of_motors for clash in self.clashes)

    def affirm(self, turn: Turn) -> None:
        """Explains the contradiction again: assent alone files nothing."""
        self.repeat(turn)

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Begins a jog of the motors; any other answer states the right facts."""
        if isinstance(heard.meaning, Word) and heard.meaning.kind == "jog" and self._of_motors:
            jog(turn, self.facts)
            return None
        return heard

    def repeat(self, turn: Turn) -> None:
        """Reads the facts back and says what they contradict."""
        hold = "hands_hold" if self._of_motors else "leaves_hold"
        turn.tell(hold, "warning", said=self.spoken, why=why(turn, self.facts, self.clashes))

    def hint(self, turn: Turn) -> str:
        """The ways to settle the contradiction."""
        return turn.words.say("hands_words" if self._of_motors else "leaves_words")


def why(turn: Turn, facts: tuple[Fact, ...], clashes: tuple[HandFault, ...]) -> str:
    """The reasons for the contradiction, as part of a sentence."""
    job = turn.job
    for fact in facts:
        job = job.with_fact(fact)
    return "; ".join(clash_words(turn.words, clash, job.opening) for clash in clashes)
