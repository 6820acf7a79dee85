"""Asks for consent to withdraw accepted readings."""

from __future__ import annotations

from handsfree.dialogue import navigation, sentences
from handsfree.dialogue.filing import answers_task
from handsfree.dialogue.questions.families import YesNoQuestion
from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Reading
from handsfree.journal import events as ev


class WithdrawalQuestion(YesNoQuestion):
    """Asks whether to withdraw readings: the last one, or those of one timed run."""

    readings: tuple[Reading, ...]

    def affirm(self, turn: Turn) -> None:
        """Withdraws the readings and returns to the task answered by the first of them."""
        turn.wait_for(None)
        job_before = turn.job
        for reading in self.readings:
            turn.keep(ev.ReadingWithdrawn(reading_id=reading.id))
        turn.tell("withdrawn", "status")
        turn.warn_of(turn.judge_since(job_before))
        first = self.readings[0]
        asked = next((task for task in turn.state.tasks if answers_task(first, task)), None)
        if asked is not None:
            navigation.enter(turn, asked)
        else:
            navigation.prompt_again(turn)

    def negative(self, turn: Turn) -> None:
        """Keeps the readings."""
        turn.wait_for(None)
        turn.tell("kept", "status")
        navigation.prompt_again(turn)

    def repeat(self, turn: Turn) -> None:
        """Asks for consent ('Withdraw left leaf, opening time, six point two seconds?')."""
        spoken = " ".join(sentences.read_reading(turn.words, reading) for reading in self.readings)
        turn.tell("withdraw", "readback", reading=spoken)


def ask_withdrawal(turn: Turn, readings: tuple[Reading, ...]) -> None:
    """Asks whether to withdraw readings, if there are any."""
    if readings:
        turn.ask(WithdrawalQuestion(readings=readings))
    else:
        turn.tell("nothing_to_withdraw", "answer")
