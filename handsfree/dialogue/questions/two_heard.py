"""Asks which of two values was said, if the two recognizers heard different ones."""

from __future__ import annotations

from handsfree.dialogue.proposed_reading import ProposedReading
from handsfree.dialogue.questions.families import ValueQuestion
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Family, Unit, family_of
from handsfree.language.meaning import ReadingSaid
from handsfree.language.wording import sentence


class TwoHeardQuestion(ValueQuestion):
    """Readings that the two recognizers heard differently, at least one of them.

    ``seconds`` holds the readings as the second recognizer heard them, in the same order; None if
    it heard the same or nothing. The question is about the first that is not None. ``unasked`` is
    True if the next utterance came before the question could be asked: it answers the prompt before
    it, so the question is asked afterwards.
    """

    items: tuple[ProposedReading, ...]
    seconds: tuple[ProposedReading | None, ...]
    unasked: bool = False

    @property
    def nth(self) -> int:
        """Index of the reading that the question is about."""
        return next(nth for nth, second in enumerate(self.seconds) if second is not None)

    @property
    def two(self) -> tuple[ProposedReading, ProposedReading]:
        """The reading as heard by the first recognizer and by the second."""
        second = self.seconds[self.nth]
        assert second is not None
        return self.items[self.nth], second

    @property
    def correctable(self) -> tuple[ProposedReading, ...]:
        """All the readings, as heard by the first recognizer."""
        return self.items

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Takes one of the two; any other reading replaces both."""
        said = heard.meaning
        if self.unasked:
            turn.wait_for(self.model_copy(update={"unasked": False}))
            if is_word(said, "negative", "disregard"):
                return heard
            turn.tell("first_answer", "repair")
            turn.ask_again()
            return None
        if not isinstance(said, ReadingSaid):
            return heard
        fitting = [each for each in self.two if _is_meant(each, said)]
        if not fitting:
            turn.wait_for(None)
            return heard
        if len(fitting) > 1:
            self.repeat(turn)
            return None
        chosen = fitting[0].model_copy(
            update={"clip": heard.clip, "rival": None, "doubt": None, "second_ear": "chosen"}
        )
        items = (*self.items[: self.nth], chosen, *self.items[self.nth + 1 :])
        seconds = (*self.seconds[: self.nth], None, *self.seconds[self.nth + 1 :])
        if any(seconds):
            turn.ask(TwoHeardQuestion(items=items, seconds=seconds))
        else:
            turn.ask(ReadingsQuestion(items=items))
        return None

    def repeat(self, turn: Turn) -> None:
        """Asks for one of the two ('I heard three point seven, or three point seven six?')."""
        one, other = self.two
        w = turn.words
        if (one.quantity, one.subjects) != (other.quantity, other.subjects):
            both = [
                w.reading(" ".join(map(w.subject, x.subjects)), x.quantity, x.value, x.unit)
                for x in self.two
            ]
        elif one.unit is not other.unit:
            both = [w.measure(each.value, each.unit) for each in self.two]
        else:
            both = [w.number(each.value, spelled=True) for each in self.two]
        turn.say(sentence(w.say("two_heard", one=both[0], other=both[1])), "repair")


def quantity_meant(item: ProposedReading, said: ReadingSaid) -> Quantity:
    """The quantity meant by an answer about a reading; 'open time' may be either of two."""
    either = said.open_time and item.quantity is Quantity.HOLD_OPEN_TIME
    return item.quantity if either or said.quantity is None else said.quantity


def unit_meant(quantity: Quantity, said: ReadingSaid) -> Unit | None:
    """The unit that was said, if the quantity can have it; pounds mean pounds-force for a force."""
    family = QUANTITIES[quantity].family
    if said.unit is Unit.POUND and family is Family.FORCE:
        return Unit.POUND_FORCE
    return said.unit if said.unit is not None and family_of(said.unit) is family else None


def _is_meant(each: ProposedReading, said: ReadingSaid) -> bool:
    """True if an answer names this one of the two; parts that it omits fit both."""
    unit = unit_meant(each.quantity, said)
    return (
        said.value == each.value
        and (said.unit is None or unit is each.unit)
        and (said.quantity is None or quantity_meant(each, said) is each.quantity)
        and (said.subject is None or said.subject in (*each.subjects, Subject.BOTH_LEAVES))
    )
