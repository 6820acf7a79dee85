"""A timed run that is about to begin."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue import attempts
from handsfree.dialogue.questions.families import DroppableQuestion
from handsfree.dialogue.state import TimeCycle
from handsfree.dialogue.turn import Turn
from handsfree.job.job import leaf_side, leaves_of
from handsfree.job.reading import Subject, Taken
from handsfree.language.wording import sentence
from handsfree.timing.cycle import SPANS


class ClockRunQuestion(DroppableQuestion):
    """A run for the first leaf; the others follow.

    BOTH_LEAVES alone times both in one cycle, with the leaf named at every mark. The marks of
    the cycle answer it (``cycle_results``).
    """

    awaits_cycle: ClassVar[bool] = True

    leaves: tuple[Subject, ...]

    def repeat(self, turn: Turn) -> None:
        """Says the marks to come and listens for one cycle of the first leaf."""
        w, leaf = turn.words, self.leaves[0]
        turn.wait_for(self)
        known = any(reading.taken is Taken.BY_EAR for reading in turn.job.readings)
        marks = "clock_marks_together" if leaf is Subject.BOTH_LEAVES else "clock_marks"
        check = "clock_check_eighty" if _past_eighty(turn, leaf) else "clock_check_backcheck"
        spoken = w.say(
            "clock_again" if known and marks == "clock_marks" else marks,
            leaf=w.subject(leaf),
            run=w.digits(str(next_run(turn, leaf))),
            check=w.say(check),
        )
        turn.say(sentence(spoken), "readback")
        turn.replies.append(TimeCycle(leaf=leaf))

    @property
    def timed_leaves(self) -> tuple[Subject, ...]:
        """The leaf being timed, then those that follow."""
        return self.leaves


def next_run(turn: Turn, leaf: Subject) -> int:
    """The number of the next run."""
    leaves = leaves_of(turn.job) if leaf is Subject.BOTH_LEAVES else (leaf,)
    adjusted = {each: attempts.adjusted_before(turn, each) for each in leaves}
    return max(
        attempts.number(turn, quantity, each, Taken.BY_EAR, adjusted=adjusted[each])[1]
        for quantity in SPANS
        for each in leaves
    )


def _past_eighty(turn: Turn, leaf: Subject) -> bool:
    """True if the opening time ends at 80 degrees, because backcheck comes later."""
    side = leaf_side(leaf)
    known = turn.job.opening.leaf(side) if side is not None else None
    return known is not None and known.backcheck_after_eighty
