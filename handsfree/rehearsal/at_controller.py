"""The technician at the controller, setting it up from the spoken words of its guide alone."""

from __future__ import annotations

from random import Random

from handsfree.controllers.guide import Guide
from handsfree.job.job import Fact, Job
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.language.wording import Wording
from handsfree.rehearsal.controller_hands import MISTAKES, ControllerHands
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.observations import hand_of_motor, leaf_of_motor
from handsfree.rehearsal.simulated_controller import SimulatedController

_LOOKS = 0.5
"""Probability that the technician reads out the controller's display after an entry."""
_HINTS = ("guide_wait", "guide_say_next", "guide_wait_ending")
_MOTORS = (Subject.MOTOR_ONE, Subject.MOTOR_TWO)


class AtController:
    """The technician's hands at the simulated controller of a door, and the last words said there.

    ``mistakes`` is the probability of each of ``MISTAKES``, 0 to 1; each is made once.
    """

    def __init__(
        self, guide: Guide, door: Door, words: Wording, random: Random, mistakes: float = 0.0
    ) -> None:
        self.controller = SimulatedController(guide, true_job(door))
        made = {each for each in MISTAKES if random.random() < mistakes}
        self.hands = ControllerHands(self.controller, words, random, made, looks=_LOOKS)
        self._hints = {words.say(name) for name in _HINTS}
        self._last: str | None = None

    def answer(self, texts: tuple[str, ...], *, elsewhere: bool) -> str | None:
        """The answer to the tool's words; None if they are not about the controller.

        An answer that the tool did not understand is repeated. ``elsewhere`` is true if the tool
        now asks for something else.
        """
        said = self.hands.answer(list(texts))
        if said is None and (not elsewhere or self._hints & set(texts)):
            return self._last
        self._last = said
        return said


def true_job(door: Door) -> Job:
    """The true job of a door: its kind, its leaves, and its motors."""
    spec = door.spec
    facts = [
        Fact(subject=Subject.OPENING, name="swing", value=str(spec.swing)),
        Fact(subject=Subject.OPENING, name="lock", value=str(spec.lock)),
    ]
    for side, leaf in spec.leaves.items():
        told = {"hinge_side": str(leaf.hinge_side), "action": leaf.action}
        facts += [Fact(subject=LEAF_SUBJECT[side], name=n, value=v) for n, v in told.items()]
    for motor in _MOTORS[: len(spec.leaves)]:
        hand, leaf_side = hand_of_motor(door, motor), leaf_of_motor(door, motor)
        facts.append(Fact(subject=motor, name="leaf", value=str(leaf_side)))
        facts.append(Fact(subject=motor, name="hand", value=str(hand)))
    job = Job.open(spec.sheet)
    for fact in facts:
        job = job.with_fact(fact)
    return job
