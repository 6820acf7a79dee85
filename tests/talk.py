"""A small procedure, and a typed technician for conversations with the tool."""

from __future__ import annotations

from dataclasses import dataclass, field

from handsfree.dialogue import state_machine
from handsfree.dialogue.proposed_reading import Rival
from handsfree.dialogue.state import Heard, Keep, Reply, Say, SecondHeard, Silence, State
from handsfree.job.closed_lists import Confirm
from handsfree.job.job import Sheet
from handsfree.job.opening import Action, Leaf, Motor, Opening, Side, Swing
from handsfree.job.unit import Measure, Unit
from handsfree.journal.events import Body
from handsfree.language.interpreter import Language
from handsfree.visit.resume import rivals_of

PROCEDURE = """
name = "small"
title = "A small visit"

[[stage]]
id = "safe"
title = "make safe"

[[stage]]
id = "motors"
title = "trace the motors"

[[stage]]
id = "times"
title = "times"

[[step]]
id = "power-off"
stage = "safe"
prompt = "Switch the power off and prove it dead."
brief = "Power off."
waits = "done"
may_skip = false
why = "Nobody works on a live operator."

[[step]]
id = "learn"
stage = "safe"
prompt = "Start the learn cycle and watch it."
brief = "Learn cycle."
caution = "The sensors are inactive during the learn cycle, keep the swing path clear."
word = "clear"
waits = "done"
why = "The controller learns the door."

[[step]]
id = "swings-free"
stage = "safe"
for_each = "leaf"
prompt = "Swing the {subject} by hand. Does it swing freely?"
brief = "Swing the {subject}."
waits = "observation"
fact = "swings_freely"
why = "A leaf that binds spoils every time."

[[step]]
id = "motor-hand"
stage = "motors"
for_each = "motor"
prompt = "Which hand is {subject}, left or right?"
brief = "Hand of {subject}?"
waits = "choice"
fact = "hand"
options = [{ value = "left", say = "left hand" }, { value = "right", say = "right hand" }]
why = "The controller must know the hand."

[[step]]
id = "opening-time"
stage = "times"
for_each = "leaf"
prompt = "Time the {subject} to backcheck and say the opening time."
brief = "Opening time of the {subject}."
waits = "reading"
quantity = "opening_time"
attempts = 3
adjust = "slow the opening speed of the {subject}"
why = "It bounds the energy of the leaf."

[[step]]
id = "hold-open"
stage = "times"
for_each = "leaf"
prompt = "Time how long the {subject} stays open."
brief = "Hold open time of the {subject}."
waits = "reading"
quantity = "hold_open_time"
attempts = 2
adjust = "raise the hold open time of the {subject}"
why = "People need the time to pass."
"""


def grouped(procedure: str) -> str:
    """Returns the same procedure, with the swing of both leaves asked as one question."""
    fact = 'fact = "swings_freely"'
    return procedure.replace(fact, f'{fact}\ngroup = "by-hand"\nitem = "swings freely"')


def a_leaf(side: Side) -> Leaf:
    """Returns a leaf of 36 in by 150 lb, for which Table I asks 3.5 s."""
    return Leaf(
        name=side,
        hinge_side=side,
        action=Action.PUSH,
        width=Measure(value="36", unit=Unit.INCH),
        weight=Measure(value="150", unit=Unit.POUND),
        backcheck_angle_deg="80",
    )


SHEET = Sheet(
    reference="T-1",
    site="a test",
    technician="nobody",
    opening=Opening(
        name="pair",
        seen_from="corridor",
        swing=Swing.SAME_WAY,
        leaves=(a_leaf(Side.LEFT), a_leaf(Side.RIGHT)),
        motors=(Motor(number=1), Motor(number=2)),
    ),
)


@dataclass
class Talk:
    """A conversation with the tool; ``says`` returns the tool's words."""

    state: State
    language: Language
    kept: list[Body] = field(default_factory=list)
    replies: list[Reply] = field(default_factory=list)
    now_s: float = 0.0

    def says(self, *lines: str) -> list[str]:
        spoken: list[str] = []
        for line in lines:
            spoken = self._take(state_machine.answer(self.state, self.heard(line), self.now_s))
        return spoken

    def second_ear_hears(self, line: str, *, late: bool = False) -> list[str]:
        second = SecondHeard(meaning=self.language.parse(line), late=late)
        return self._take(state_machine.answer(self.state, second, self.now_s))

    def heard(self, line: str) -> Heard:
        return Heard(
            text=line,
            meaning=self.language.parse(line),
            rival=self._rival(line),
            rivals=rivals_of(self.language, line),
        )

    def _rival(self, line: str) -> Rival | None:
        alike = self.language.sounding_alike(line)
        return Rival(value=alike[2].value, one=alike[0], other=alike[1]) if alike else None

    def begins(self, confirm: Confirm = "every") -> list[str]:
        return self._take(state_machine.begin(self.state, self.now_s, confirm=confirm))

    def resumes(self) -> list[str]:
        return self._take(state_machine.resume(self.state, self.now_s))

    def is_silent(self, seconds: float) -> list[str]:
        self.now_s += seconds
        return self._take(state_machine.answer(self.state, Silence(), self.now_s))

    def go_to(self, key: str) -> list[str]:
        """Goes to a task in the quickest way, with everything OK."""
        answers = {"done": "done", "choice": "left", "observation": "in order"}
        spoken: list[str] = []
        while self.state.progress.at != key:
            assert self.state.task is not None, f"{key} was not met"
            step = self.state.task.step
            if step.caution and self.state.task.key not in self.state.progress.cautioned:
                spoken = self.says("clear")
            if step.waits == "reading":
                spoken = self.says("skip", "another day")
            elif step.waits == "choice":
                hand = "left hand" if self.state.task.key.endswith("one") else "right hand"
                spoken = self.says(hand, "affirm")
            elif step.own_word is not None:
                spoken = self.says(self.state.words.name("word", step.own_word))
            else:
                spoken = self.says(answers[step.waits])
                if step.waits == "observation":
                    spoken = self.says("affirm")
        return spoken

    def of(self, kind: type[Body]) -> list[Body]:
        return [body for body in self.kept if isinstance(body, kind)]

    def _take(self, step: tuple[State, tuple[Reply, ...]]) -> list[str]:
        self.state, replies = step
        self.replies += replies
        self.kept += [reply.body for reply in replies if isinstance(reply, Keep)]
        return [reply.text for reply in replies if isinstance(reply, Say)]
