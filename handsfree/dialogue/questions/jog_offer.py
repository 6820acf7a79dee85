"""Offers a short jog where the leaf or the hand of a motor is not known."""

from __future__ import annotations

from typing import ClassVar

from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.questions.families import DroppableQuestion
from handsfree.dialogue.questions.jog import jog
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.handing import MOTOR_NUMBER, MOTOR_SUBJECT, expected_hand, expected_hands
from handsfree.job.job import Fact
from handsfree.job.opening import Motor, Opening, Side
from handsfree.language.door_words import hand_name
from handsfree.language.meaning import Word


class JogOfferQuestion(DroppableQuestion):
    """Waits until the hands to be tried are set at the controller; then a jog shows the right ones.

    ``tried`` holds the hand to set for each motor without a stated one.
    """

    expected: ClassVar[AnswerSet] = AnswerSet(
        words=frozenset({"affirm", "negative", "jog", "disregard"})
    )
    admits: ClassVar[frozenset[str]] = frozenset({"skip"})

    tried: tuple[Fact, ...]

    def affirm(self, turn: Turn) -> None:
        """Begins the jog."""
        jog(turn, self.tried)

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Begins the jog; a hand, a leaf or a skip answers the step instead."""
        match heard.meaning:
            case Word(kind="jog"):
                jog(turn, self.tried)
                return None
            case Word(kind="skip"):
                turn.wait_for(None)
                return heard
            case _:
                return heard

    def repeat(self, turn: Turn) -> None:
        """Says which hand to set for each motor, and offers the jog."""
        w = turn.words
        hands = [
            f"{w.subject(fact.subject)} {hand_name(w, Side(fact.value))}" for fact in self.tried
        ]
        if hands:
            turn.tell("jog_offer", "prompt", hands=w.listed(hands, "and"))
        else:
            turn.tell("jog_offer_leaf", "prompt")

    def hint(self, turn: Turn) -> str:
        """The ways on."""
        return turn.words.say("jog_offer_words")


def offer_jog(turn: Turn) -> bool:
    """Offers a jog at a step that asks for a motor's leaf or hand; False at any other step."""
    task, opening = turn.task, turn.job.opening
    if task is None or turn.between or turn.caution_open or turn.state.pending is not None:
        return False
    if task.subject not in MOTOR_NUMBER or task.step.fact not in ("hand", "leaf"):
        return False
    tried = tuple(
        Fact(subject=MOTOR_SUBJECT[motor.number], name="hand", value=_tried(opening, motor))
        for motor in opening.motors
        if motor.hand is None
    )
    turn.ask(JogOfferQuestion(tried=tried))
    return True


def _tried(opening: Opening, motor: Motor) -> Side:
    """The hand to try first: the expected one; if that depends on the leaf, as if motor one
    drove the left leaf; left if nothing tells.
    """
    hands = expected_hands(opening, motor)
    if len(hands) == 1:
        return next(iter(hands)) or Side.LEFT
    return expected_hand(opening, opening.leaves[motor.number - 1].name) or Side.LEFT
