"""Asks whether to time another run."""

from __future__ import annotations

from typing import ClassVar

from handsfree.checks.evaluate import judge_reading
from handsfree.dialogue import attempts, navigation
from handsfree.dialogue.proposed_reading import ProposedReading
from handsfree.dialogue.questions.clock_run import ClockRunQuestion, next_run
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.turn import Turn
from handsfree.job.finding import Verdict, ruling
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject


class AnotherRunQuestion(YesNoQuestion):
    """Asks whether to time the first leaf again; the others follow.

    A refusal is a normal decision, so it does not count toward a loop.
    """

    admits: ClassVar[frozenset[str]] = frozenset({"start_clock", "withdraw_run"})
    can_loop: ClassVar[bool] = False

    leaves: tuple[Subject, ...]

    def affirm(self, turn: Turn) -> None:
        """Runs the clock for the same leaf."""
        turn.ask(ClockRunQuestion(leaves=self.leaves))

    def negative(self, turn: Turn) -> None:
        """Times the next leaf, or returns to the current task."""
        if len(self.leaves) > 1:
            turn.ask(ClockRunQuestion(leaves=self.leaves[1:]))
        else:
            turn.wait_for(None)
            navigation.prompt_again(turn)


def continue_timing(
    turn: Turn, items: tuple[ProposedReading, ...], leaves: tuple[Subject, ...]
) -> bool:
    """After a filed run, offers another one if it should decide, or times the next leaf.

    Returns False if neither is due: a time that fails, or is too close to its limit for more runs
    to help, is adjusted first.
    """
    leaf = leaves[0]
    timed = [(item.quantity, subject) for item in items for subject in item.subjects]
    verdicts = [_verdict(turn, quantity, subject) for quantity, subject in timed]
    if any(attempts.adjust_first(turn, quantity, subject) for quantity, subject in timed):
        return False
    if any(attempts.helps(turn, quantity, subject) for quantity, subject in timed):
        turn.set(advice=())
        turn.wait_for(AnotherRunQuestion(leaves=leaves))
        turn.tell("clock_another", "readback", run=turn.words.digits(str(next_run(turn, leaf))))
        return True
    if len(leaves) > 1 and Verdict.TOO_CLOSE not in verdicts:
        turn.ask(ClockRunQuestion(leaves=leaves[1:]))
        return True
    return False


def _verdict(turn: Turn, quantity: Quantity, leaf: Subject) -> Verdict | None:
    last = turn.job.latest(quantity, leaf)
    return ruling(judge_reading(turn.job, turn.state.limits, last)) if last else None
