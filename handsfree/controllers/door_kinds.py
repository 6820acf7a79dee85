"""Conditions of a guide, and every kind of door that they tell apart.

A condition is either one that procedures use, or one about a motor or a leaf: 'motor one is left
hand', 'motor two is on the left leaf', 'right leaf is push'.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import product

from handsfree.job.door_feature import NAMED_CONDITIONS
from handsfree.job.handing import contradictions
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Action, Leaf, Lock, Motor, Opening, Side, Swing
from handsfree.language.wording import Wording, sentence
from handsfree.procedure import condition as of_procedure

_HAND = re.compile(r"motor (one|two) is (left|right) hand")
_ON_LEAF = re.compile(r"motor (one|two) is on the (left|right) leaf")
_ACTION = re.compile(r"(left|right) leaf is (push|pull)")
_NUMBER = {"one": 1, "two": 2}
OF_A_DOOR = (
    *(name for name, some in NAMED_CONDITIONS.items() if some.feature in Opening.model_fields),
    of_procedure.REMOVED,
)
"""The conditions of procedures that a controller's set-up can depend on."""
_LOCKS = (Lock.NONE, Lock.LATCH, Lock.STRIKE)
"""One of each kind of lock that the conditions tell apart."""
EXAMPLES = (
    *OF_A_DOOR,
    *("motor one is left hand", "motor one is on the left leaf", "left leaf is push"),
)
"""Every condition with a fixed name, and one example of each kind without."""
_FLAGS = tuple(
    name
    for name in OF_A_DOOR
    if (field := Opening.model_fields.get(name)) is not None and field.annotation is bool
)
"""The conditions that are a simple yes or no about the opening."""


def known(condition: str) -> bool:
    """True if a guide may depend on the condition."""
    name = condition.removeprefix("not ")
    kinds = (_HAND, _ON_LEAF, _ACTION)
    return name in OF_A_DOOR or any(kind.fullmatch(name) for kind in kinds)


def holds(condition: str, job: Job) -> bool | None:
    """True or False if the known facts about the door decide a condition; None if they do not."""
    if condition.startswith("not "):
        held = holds(condition.removeprefix("not "), job)
        return None if held is None else not held
    if match := _HAND.fullmatch(condition) or _ON_LEAF.fullmatch(condition):
        motor = job.opening.motor(_NUMBER[match[1]])
        if motor is None:
            return False
        there = motor.hand if condition.endswith("hand") else motor.leaf
        return None if there is None else there == match[2]
    if match := _ACTION.fullmatch(condition):
        leaf = job.opening.leaf(Side(match[1]))
        if leaf is None:
            return False
        return None if leaf.action is None else leaf.action == match[2]
    return of_procedure.holds(condition, job)


def because(condition: str, w: Wording) -> str:
    """The condition as a sentence ('Motor one is left hand.')."""
    name = condition.removeprefix("not ")
    if match := _HAND.fullmatch(name) or _ON_LEAF.fullmatch(name):
        side = w.name("word", match[2])
        said = "because_hand" if name.endswith("hand") else "because_leaf"
        told = w.say(said, motor=w.subject(f"motor {match[1]}"), side=side)
    elif match := _ACTION.fullmatch(name):
        told = w.say(
            "because_action", leaf=w.the(f"{match[1]} leaf"), action=w.name("word", match[2])
        )
    else:
        return sentence(w.name("condition", condition))
    return sentence(told if name == condition else w.say("because_not", what=told))


def missing_fact(condition: str, w: Wording) -> str:
    """The question for the fact that a condition depends on ('Say motor one left hand, or ...')."""
    name = condition.removeprefix("not ")
    if match := _HAND.fullmatch(name):
        return w.say("guide_which_hand", motor=w.subject(f"motor {match[1]}"))
    if match := _ON_LEAF.fullmatch(name):
        return w.say("guide_which_leaf", motor=w.subject(f"motor {match[1]}"))
    if match := _ACTION.fullmatch(name):
        return w.say("guide_which_action", leaf=w.subject(f"{match[1]} leaf"))
    return ""


def kinds_of_door(conditions: Iterable[str]) -> Iterator[Job]:
    """Every kind of door that the conditions tell apart, completely described.

    The hands of a pair follow from its swing (geometry): opposite if the leaves swing the same way,
    equal on a double-egress pair. Contradictory combinations are left out.
    """
    used = {each.removeprefix("not ") for each in conditions}
    locks = _LOCKS if used & {"lock", "strike"} else (Lock.NONE,)
    flags = [(True, False) if flag in used else (False,) for flag in _FLAGS]
    by_action = any(map(_ACTION.fullmatch, used))
    by_leaf = any(_ON_LEAF.fullmatch(each) or _ACTION.fullmatch(each) for each in used)
    crossed = (False, True) if by_leaf else (False,)
    kinds = product(Swing, Side, locks, Action, crossed)
    for (swing, hand, lock, action, cross), fitted in product(kinds, product(*flags)):
        single, same_way = swing is Swing.SINGLE, swing is Swing.SAME_WAY
        if action is Action.PULL and not by_action and swing is not Swing.DOUBLE_EGRESS:
            continue
        if same_way and cross:
            continue  # the hand of a motor identifies its leaf
        if single and fitted[_FLAGS.index("astragal")]:
            continue
        names = ((Side.RIGHT,) if cross else (Side.LEFT,)) if single else (Side.LEFT, Side.RIGHT)
        second = hand if swing is Swing.DOUBLE_EGRESS else hand.other()
        other = _opposite(action) if swing is Swing.DOUBLE_EGRESS else action
        opening = Opening(
            name="kind",
            seen_from="kind",
            swing=swing,
            leaves=tuple(
                Leaf(name=name, action=each)
                for name, each in zip(names, (action, other), strict=False)
            ),
            motors=tuple(
                Motor(
                    number=nth,
                    leaf=each if same_way else name.other() if cross and not single else name,
                    hand=each,
                )
                for nth, (name, each) in enumerate(zip(names, (hand, second), strict=False), 1)
            ),
            lock=lock,
            **dict(zip(_FLAGS, fitted, strict=True)),
        )
        if not any(contradictions(opening)):
            yield Job.open(Sheet(reference="", site="", technician="", opening=opening))


def _opposite(action: Action) -> Action:
    return Action.PULL if action is Action.PUSH else Action.PUSH


def completed(job: Job) -> Iterator[Job]:
    """Fills in every unknown fact about the motors and leaves of a door, in every possible way."""
    opening = job.opening
    motors = [
        [
            motor.model_copy(update={"hand": hand, "leaf": leaf})
            for hand in ((motor.hand,) if motor.hand else Side)
            for leaf in ((motor.leaf,) if motor.leaf else Side)
        ]
        for motor in opening.motors
    ]
    leaves = [
        [
            leaf.model_copy(update={"action": act})
            for act in ((leaf.action,) if leaf.action else Action)
        ]
        for leaf in opening.leaves
    ]
    for chosen in product(product(*motors), product(*leaves)):
        door = opening.model_copy(update={"motors": chosen[0], "leaves": chosen[1]})
        if not any(contradictions(door)):
            yield job.model_copy(update={"opening": door})


def described(kind: Job, conditions: Iterable[str]) -> str:
    """Describes a kind of door for a message, by those of the conditions that hold for it."""
    names = [each.removeprefix("not ") for each in conditions]
    swing = kind.opening.swing.replace("_", " ")
    rest = [name for name in dict.fromkeys(names) if name.replace("_", " ") != swing]
    told = [name.replace("_", " ") if holds(name, kind) else f"not {name}" for name in rest]
    door = "a single leaf" if swing == "single" else f"a pair, {swing}"
    return ", ".join([door, *(each.replace("_", " ") for each in told)])
