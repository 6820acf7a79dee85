"""Measures visits with a controller's guide and mistakes: each mistake should be named and fixed.

    python -m tests.bench.controllers --visits 300

In each visit a technician sets up a simulated controller at a door. The technician does only what
is said aloud, sees only what the controller shows, and makes up to four mistakes: a wrong hand, a
skipped save, an interrupted learn cycle, a blocked leaf. The seed draws the guides, the languages,
the kinds of door and the mistakes. A mistake is visible if a display or a code shows it. It counts
as named if its meaning is spoken, and as fixed if the controller has learned and holds the guide's
values for the door at the end.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from random import Random
from typing import NamedTuple

from handsfree.checks.limits import load_limits
from handsfree.controllers.guide_loader import load_guide, shipped_guides
from handsfree.dialogue import state_machine
from handsfree.dialogue.state import Heard, Say, State
from handsfree.job.handing import MOTOR_NUMBER
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Motor, Opening, Side, Swing
from handsfree.job.reading import Taken
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.rehearsal.controller_hands import MISTAKES, ControllerHands, mistakes_named
from handsfree.rehearsal.simulated_controller import SimulatedController
from handsfree.visit.resume import first_state

from ..dialogue.technician import answer_to, opening


class Visited(NamedTuple):
    """The result of one visit: the mistakes made, those named, and what is wrong at the end."""

    guide: str
    language: str
    made: tuple[str, ...]
    named: dict[str, int]
    wrong: frozenset[str]
    learned: bool
    turns: int

    @property
    def unnamed(self) -> tuple[str, ...]:
        """Mistakes that were made more often than they were named."""
        return tuple(each for each in self.made if self.named[each] < self.made.count(each))


def door_of(random: Random) -> Opening:
    """Returns a door of a random kind, with known hands and leaves of its motors."""
    swing = random.choice(tuple(Swing))
    door = opening(swing, random.random() < 0.5)
    hand = random.choice(tuple(Side))
    second = hand if swing is Swing.DOUBLE_EGRESS else hand.other()
    cross = swing is Swing.DOUBLE_EGRESS and random.random() < 0.5
    sides = (Side.RIGHT, Side.LEFT) if cross else (Side.LEFT, Side.RIGHT)
    if swing is Swing.SAME_WAY:
        sides = (hand, second)  # the hand of a motor is the side of its leaf
    motors = tuple(
        Motor(number=motor.number, leaf=side, hand=each)
        for motor, side, each in zip(door.motors, sides, (hand, second), strict=False)
    )
    return door.model_copy(update={"motors": motors})


def _of_the_motor(state: State, door: Opening) -> str | None:
    """Returns the leaf or the hand of the motor that a step asks for, at this door."""
    task = state.task
    motor = door.motor(MOTOR_NUMBER.get(task.subject, 0)) if task is not None else None
    if task is None or motor is None or state.pending is not None:
        return None
    value = {"leaf": motor.leaf, "hand": motor.hand}.get(task.step.fact or "")
    return next((option.say for option in task.step.options if option.value == value), None)


def visit(seed: int) -> Visited:
    """Walks one visit from the settings to the end of the learn cycle."""
    random = Random(seed)
    spoken = Language.load(language=random.choice(("en", "es")))
    w = spoken.wording
    guide = load_guide(random.choice(shipped_guides(w.language)), w.language)
    door = door_of(random)
    sheet = Sheet(reference="B", site="a bench", technician="nobody", opening=door)
    sheet = sheet.model_copy(update={"language": w.language})
    controller = SimulatedController(guide, Job.open(sheet))
    mistakes = {each for each in MISTAKES if random.random() < 0.5}
    hands = ControllerHands(controller, w, random, set(mistakes), looks=random.choice((0, 0.5, 1)))
    procedure = load_procedure("controller-replaced-pair", guide, w.language)
    state, replies = state_machine.begin(first_state(sheet, procedure, load_limits("a156.19")), 0.0)
    said: list[str] = []
    go_to = {"en": "go to settings", "es": "vaya a los ajustes"}[w.language]
    text: str | None = go_to
    turns = 0
    while text is not None and turns < 400:
        heard = Heard(text=text, meaning=spoken.parse(text), taken=Taken.TYPED)
        if heard.meaning is None:
            raise SystemExit(f"'{text}' is not a sentence")
        state, replies = state_machine.answer(state, heard, float(turns))
        turns += 1
        new = [reply.text for reply in replies if isinstance(reply, Say)]
        said += new
        task = state.task
        if task is None:
            break
        if controller.learned and task.step.stage not in ("settings", "learn"):
            break
        text = hands.answer(new)
        if text is None and state.task is not None:
            text = _of_the_motor(state, door) or answer_to(state, "slams")
    named = mistakes_named(guide, w, said)
    return Visited(
        guide.name,
        w.language,
        tuple(hands.made),
        named,
        controller.wrong,
        controller.learned,
        turns,
    )


def main() -> int:
    """Prints the table; exit code 1 if a mistake was not named, or an entry is wrong."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--visits", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    visits = [visit(asked.seed * 100_000 + nth) for nth in range(asked.visits)]
    print("mistake        made  named")
    for mistake in MISTAKES:
        made = sum(each.made.count(mistake) for each in visits)
        named = sum(min(each.named[mistake], each.made.count(mistake)) for each in visits)
        print(f"{mistake:14} {made:4} {named:6}")
    wrong = [each for each in visits if each.wrong or not each.learned]
    print(f"visits {len(visits)}, by guide {dict(Counter(each.guide for each in visits))}")
    print(f"turns: most {max(each.turns for each in visits)}")
    print(f"set-up equals the guide's and learned: {len(visits) - len(wrong)}")
    print(f"wrong entries left: {sum(len(each.wrong) for each in visits)}")
    bad = [each for each in visits if each.unnamed or each.wrong or not each.learned]
    for each in bad[:10]:
        print(each)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
