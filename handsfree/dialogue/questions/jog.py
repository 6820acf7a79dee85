"""Asks for a short jog of each motor: which leaf moved, and which way."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue import navigation
from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.questions.families import DroppableQuestion
from handsfree.dialogue.questions.jog_result import JogResultQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.handing import MOTOR_NUMBER, MOTOR_SUBJECT, contradictions
from handsfree.job.job import Fact, Job
from handsfree.job.opening import Side
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.language.door_words import clash_words
from handsfree.language.meaning import Choice, Word


class JogQuestion(DroppableQuestion):
    """Asks for the result of a short jog, one motor after the other.

    ``held`` holds the contradictory facts, ``motors`` the motors still to be jogged, the current
    one first. ``cautioned`` is true once the caution was acknowledged, ``moved`` is the leaf that
    the current motor moved, ``found`` what the jogs have shown so far.
    """

    expected: ClassVar[AnswerSet] = AnswerSet(
        choices=frozenset({"left", "right", "opens", "closes"})
    )

    held: tuple[Fact, ...]
    motors: tuple[Subject, ...]
    cautioned: bool = False
    moved: Side | None = None
    found: tuple[Fact, ...] = ()

    def affirm(self, turn: Turn) -> None:
        """Asks again: only what the jog showed is an answer."""
        self.repeat(turn)

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Takes the word of the caution, the leaf that moved, and the way it moved."""
        match heard.meaning:
            case Word(kind="not_clear") if not self.cautioned:
                turn.tell("jog_hold", "caution")
            case Word(kind="clear") if not self.cautioned:
                turn.ask(self.model_copy(update={"cautioned": True}))
            case Choice(value="left" | "right" as side) if self.cautioned and self.moved is None:
                self._moved(turn, Side(side))
            case Choice(value="opens" | "closes" as way) if (
                self.cautioned and self.moved is not None
            ):
                self._went(turn, opened=way == "opens")
            case Word(kind="clear") | Choice():
                self.repeat(turn)
            case _:
                return heard
        return None

    def repeat(self, turn: Turn) -> None:
        """Speaks the caution, or asks for the leaf, or for the direction of its movement."""
        if not self.cautioned:
            turn.tell("jog_caution", "caution")
        elif self.moved is None:
            turn.tell("jog_leaf", "prompt", motor=turn.words.subject(self.motors[0]))
        elif len(turn.job.opening.leaves) == 1:
            turn.tell("jog_one_leaf", "prompt", motor=turn.words.subject(self.motors[0]))
        else:
            turn.tell("jog_way", "prompt")

    def hint(self, turn: Turn) -> str:
        """The possible answers to the current question."""
        w = turn.words
        if not self.cautioned:
            return w.say("wait_caution", word=w.name("word", "clear"))
        return w.say("which_leaf" if self.moved is None else "jog_way_words")

    def _moved(self, turn: Turn, side: Side) -> None:
        if turn.job.opening.leaf(side) is None:
            turn.tell("no_such", "repair", subject=turn.words.subject(LEAF_SUBJECT[side]))
            self.repeat(turn)
        elif self._claimed(turn.job) is None:
            # Without a stated hand the direction tells nothing.
            self._next(turn, side, None)
        else:
            turn.ask(self.model_copy(update={"moved": side}))

    def _went(self, turn: Turn, *, opened: bool) -> None:
        claimed, moved = self._claimed(turn.job), self.moved
        if claimed is not None and moved is not None:
            self._next(turn, moved, claimed if opened else claimed.other())

    def _claimed(self, job: Job) -> Side | None:
        """The stated hand of the current motor."""
        motor = with_facts(job, self.held).opening.motor(MOTOR_NUMBER[self.motors[0]])
        return motor.hand if motor is not None else None

    def _next(self, turn: Turn, leaf: Side, hand: Side | None) -> None:
        motor, *left = self.motors
        found = list(self.found)
        if len(turn.job.opening.leaves) > 1:
            found.append(Fact(subject=motor, name="leaf", value=leaf))
        if hand is not None:
            found.append(Fact(subject=motor, name="hand", value=hand))
        if left:
            update = {"motors": tuple(left), "moved": None, "found": tuple(found)}
            turn.ask(self.model_copy(update=update))
        else:
            _settle(turn, tuple(found))


def jog(turn: Turn, held: tuple[Fact, ...]) -> None:
    """Begins a short jog of every motor, after a caution."""
    motors = tuple(MOTOR_SUBJECT[motor.number] for motor in turn.job.opening.motors)
    leaves = turn.job.opening.leaves
    moved = leaves[0].name if len(leaves) == 1 else None
    turn.ask(JogQuestion(held=held, motors=motors, moved=moved))


def with_facts(job: Job, facts: tuple[Fact, ...]) -> Job:
    """The job as it would be with these facts."""
    for fact in facts:
        job = job.with_fact(fact)
    return job


def _settle(turn: Turn, found: tuple[Fact, ...]) -> None:
    """Reads back what the jogs have shown; if that is contradictory too, asks the step again."""
    opening = with_facts(turn.job, found).opening
    left = [clash for clash in contradictions(opening) if clash.of_motors]
    if left:
        why = "; ".join(clash_words(turn.words, clash, opening) for clash in left)
        turn.wait_for(None)
        turn.tell("hands_unsettled", "warning", why=why)
        navigation.prompt_again(turn)
        return
    turn.tell("hands_settled", "answer")
    turn.ask(JogResultQuestion(facts=found))
