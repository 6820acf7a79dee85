"""The base of every question that waits for an answer: what each answer does.

Every question is one class in one file of this folder. The conversation calls only the methods
below, so a new question takes a new file, its test, and the place that asks it (``turn.ask(...)``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from handsfree.dialogue.answer_set import NOTHING, AnswerSet
from handsfree.dialogue.proposed_reading import ProposedReading
from handsfree.job.reading import Subject
from handsfree.job.record import Record

if TYPE_CHECKING:
    from handsfree.dialogue.state import Heard
    from handsfree.dialogue.turn import Turn
    from handsfree.language.meaning import Meaning


class Question(Record):
    """A question that waits for an answer; the base class of all questions.

    The base accepts no answer and cannot be dropped: every answer makes it ask again. ``families``
    holds base classes for questions that accept the same kind of answer.
    """

    expected: ClassVar[AnswerSet] = NOTHING
    """Answers that a second recognition pass may look for."""
    admits: ClassVar[frozenset[str]] = frozenset()
    """Kinds of utterances that are carried out although they do not answer the question: 'go_to',
    'start_clock', 'withdraw_run', 'go_back', 'withdraw'. All others have to wait for the
    answer. Requests for information are always carried out.
    """
    free_words: ClassVar[bool] = False
    """True if ``answer`` takes the next utterance verbatim, whatever was recognized."""
    keeps_sound: ClassVar[bool] = False
    """True if the sound of an answer is kept even if only readings and notes are kept."""
    yes_or_no: ClassVar[bool] = False
    """True if the question was read back in full and is answered with yes or no."""
    reads_back: ClassVar[bool] = False
    """True if the question is a readback that counts after 'affirm'."""
    takes_number: ClassVar[bool] = False
    """True if a number answers the question."""
    awaits_cycle: ClassVar[bool] = False
    """True if the marks of a timed run answer the question."""
    completes_reading: ClassVar[bool] = False
    """True if the answer completes a reading whose value was said before."""
    can_loop: ClassVar[bool] = True
    """True if an answer that leads nowhere counts as one more round of a loop."""

    # --- what an answer does

    def affirm(self, turn: Turn) -> None:
        """Handles 'affirm'."""
        self.repeat(turn)

    def negative(self, turn: Turn) -> None:
        """Handles 'negative'."""
        self.repeat(turn)

    def disregard(self, turn: Turn) -> None:
        """Handles 'disregard'."""
        self.repeat(turn)

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Handles an answer that only this question understands, before anything else does.

        Returns None if the answer is fully handled, ``heard`` if it is no such answer, or the
        complete sentence that the answer stands for ('left' for the reading of the left leaf).
        """
        return heard

    # --- how it is asked

    def repeat(self, turn: Turn) -> None:
        """Asks the question again."""
        turn.say(self.hint(turn), "repair")

    def hint(self, turn: Turn) -> str:
        """The shortest example of an answer, used for help and after a misunderstanding."""
        return turn.step_hint

    def other_words(self, turn: Turn) -> str:
        """Another way to say the answer, after misunderstandings; '' if there is none."""
        return ""

    # --- implicit confirmation

    def echo(self, turn: Turn) -> str:
        """The answer in a few words, to echo with the next prompt; '' if it needs 'affirm'."""
        return ""

    def is_replaced_by(self, turn: Turn, meaning: Meaning | None) -> bool:
        """True if an utterance gives another value for what this question is about."""
        return False

    # --- the readings it is about

    @property
    def proposed(self) -> tuple[ProposedReading, ...]:
        """The readings that 'affirm' would file."""
        return ()

    @property
    def correctable(self) -> tuple[ProposedReading, ...]:
        """The readings that a correction may change."""
        return self.proposed

    @property
    def timed_leaves(self) -> tuple[Subject, ...]:
        """The leaves being timed: the current one, then those that follow."""
        return ()

    def with_readings(self, items: tuple[ProposedReading, ...]) -> Question:
        """The same question about other readings; unchanged for a question without readings."""
        return self
