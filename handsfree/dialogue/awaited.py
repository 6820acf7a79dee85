"""Which answers alone the conversation waits for: what may be sought in a sound once more.

A caution, a pause and whatever is said in free words are left out on purpose: their words are
heard at once, or not at all.
"""

from __future__ import annotations

from handsfree.dialogue.pending import (
    AskedRun,
    AskedSubject,
    AskedWord,
    ClockLeaf,
    PendingFact,
    PendingReading,
    PendingReadings,
    PendingWithdrawal,
)
from handsfree.dialogue.state import State
from handsfree.grammar.meaning import Choice, Meaning, Word
from handsfree.job.record import Record

_SIDES = frozenset({"left", "right", "both"})
_OBSERVED = frozenset({"in_order", "not_in_order"})


class Awaited(Record):
    """Answers that end what waits: words by their kind, choices by their value."""

    words: frozenset[str] = frozenset()
    choices: frozenset[str] = frozenset()

    def __bool__(self) -> bool:
        return bool(self.words or self.choices)

    @property
    def read_back(self) -> bool:
        """Whether none of them counts before it was read back and affirmed."""
        return not self.words

    def fits(self, meaning: Meaning | None) -> bool:
        """Whether an utterance is one of them."""
        match meaning:
            case Word(kind=kind):
                return kind in self.words
            case Choice(value=value):
                return value in self.choices
            case _:
                return False


NOTHING = Awaited()
# The refusal is always beside the assent: whatever may be heard as one may be heard as the other.
_AGREEMENT = Awaited(words=frozenset({"affirm", "negative"}))


def awaited(state: State) -> Awaited:
    """The answers that are waited for now; none where anything else is."""
    if state.progress.closed or state.progress.standing_by is not None:
        return NOTHING
    match state.pending:
        case None:
            return _of_step(state)
        case PendingReading() | PendingReadings() | PendingFact():
            return _AGREEMENT
        case PendingWithdrawal() | AskedRun():
            return _AGREEMENT
        case AskedWord():
            return Awaited(words=frozenset({"done_later", "not_applicable", "refused"}))
        case AskedSubject() | ClockLeaf():
            return Awaited(choices=_SIDES)
        case _:
            return NOTHING


def _of_step(state: State) -> Awaited:
    task = state.task
    if task is None or task.key in state.progress.ended:
        return NOTHING
    step = task.step
    if step.caution is not None and task.key not in state.progress.cautioned:
        return NOTHING
    match step.waits:
        case "observation":
            return Awaited(choices=_OBSERVED)
        case "choice":
            return Awaited(choices=frozenset(option.value for option in step.options))
        case "done":
            return Awaited(words=frozenset({"done"}))
        case _:
            return NOTHING
