"""Groups steps into one question: which steps, and how the question is spoken.

A group is asked as one question while hearing is good and the group has not been opened. A good
answer ends every step in it, each with its own events; any other answer opens it, and its steps are
asked one by one.
"""

from __future__ import annotations

from collections.abc import Sequence

from handsfree.dialogue import sentences
from handsfree.dialogue.known_values import is_of_other_leaf, known_fact, known_measure
from handsfree.dialogue.state import State
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.language.wording import Wording, sentence
from handsfree.procedure.step import Task

MOST_VALUES = 8
"""Largest number of values in one question, to keep it short; beyond that it is asked leaf by
leaf. Our own choice.
"""

_SIZES = (Quantity.LEAF_WIDTH, Quantity.LEAF_HEIGHT, Quantity.LEAF_WEIGHT)
_ALL = {
    frozenset((Subject.LEFT_LEAF, Subject.RIGHT_LEAF)): "both_leaves",
    frozenset((Subject.LEFT_PLATE, Subject.RIGHT_PLATE)): "both_plates",
    frozenset((Subject.NEAR_SIDE, Subject.FAR_SIDE)): "both_sides",
    frozenset((Subject.MOTOR_ONE, Subject.MOTOR_TWO)): "both_motors",
}
"""Subjects of a step that have one common spoken name."""


def group_at(state: State) -> tuple[Task, ...]:
    """The open steps asked together with the current one, itself included; () if it is asked
    alone.

    Values are grouped if they are known, even a single one; those of the other leaf are a group of
    their own, of at least two. A step that was answered before is asked alone, and so is every step
    while each value needs its 'affirm'.
    """
    task, progress = state.task, state.progress
    if task is None or task.step.group is None or task.key in progress.ended:
        return ()
    if progress.confirm == "every" or task.step.group in progress.opened:
        return ()
    group = task.step.group
    there = [t for t in state.tasks if t.step.group == group and t.key not in progress.ended]
    if asks_values(task):
        of_other = is_of_other_leaf(state, task)
        members = [
            each
            for each in there
            if _known(state, each) and is_of_other_leaf(state, each) is of_other
        ]
        if of_other or len(members) > MOST_VALUES:
            members = [each for each in members if each.subject is task.subject]
        if of_other and len(members) == 1:
            return ()
    else:
        members = [each for each in there if not _answered(state, each)]
        members = members if len(members) > 1 else []
    return tuple(members) if task in members else ()


def asks_values(task: Task) -> bool:
    """True if the group of a task is asked by its known values, 'still the same?'."""
    return task.step.waits in ("choice", "reading")


def prompt(state: State, group: Sequence[Task], *, brief: bool) -> str:
    """The question for a group ('Both leaves: free to swing, arm tight. All good?')."""
    w = state.words
    listed = items(w, group)
    if asks_values(group[0]):
        alike = is_of_other_leaf(state, group[0])
        listed = _listed_values(state, group) if alike else _values(state, group)
    match group[0].step.waits:
        case "observation":
            asked = w.say("group_good", items=listed)
        case "done":
            asked = w.say("group_done", items=listed)
        case _ if is_of_other_leaf(state, group[0]):
            subject = w.subject(group[0].subject)
            asked = sentence(w.say("group_as_other", subject=subject, items=listed))
        case _:
            asked = w.say("group_same", items=listed)
    return asked if brief else f"{asked} {hint(w, group)}"


def hint(w: Wording, group: Sequence[Task]) -> str:
    """The shortest example of an answer to a group."""
    match group[0].step.waits:
        case "observation":
            return w.say("group_good_help")
        case "done":
            return w.say("group_done_help")
        case _:
            return w.say("group_same_help")


def _known(state: State, task: Task) -> bool:
    return known_measure(state, task) is not None or known_fact(state, task) is not None


def _answered(state: State, task: Task) -> bool:
    fact = task.step.fact
    return fact is not None and state.progress.job.fact(task.subject, fact) is not None


def items(w: Wording, group: Sequence[Task]) -> str:
    """Lists the items of a group with their subjects ('Both leaves: arm tight. Cables whole.')."""
    about: dict[str, list[Subject]] = {}
    said: dict[str, str] = {}
    for task in group:
        about.setdefault(task.step.id, []).append(task.subject)
        said[task.step.id] = task.step.item or task.brief
    of_each: dict[tuple[Subject, ...], list[str]] = {}
    for step, subjects in about.items():
        of_each.setdefault(tuple(subjects), []).append(said[step])
    return " ".join(_of(w, subjects, ", ".join(each)) for subjects, each in of_each.items())


def _values(state: State, group: Sequence[Task]) -> str:
    """'Left leaf: thirty six inches by eighty four inches.' Identical leaves are combined."""
    w = state.words
    of_each: dict[Subject, list[Task]] = {}
    for task in group:
        of_each.setdefault(task.subject, []).append(task)
    alike: dict[str, list[Subject]] = {}
    for subject, tasks in of_each.items():
        alike.setdefault(_listed_values(state, tasks), []).append(subject)
    return " ".join(_of(w, tuple(subjects), listed) for listed, subjects in alike.items())


def _listed_values(state: State, tasks: Sequence[Task]) -> str:
    w, said = state.words, []
    size = [known_measure(state, t) for t in tasks if t.step.quantity in _SIZES[:2]]
    if len(size) == 2 and size[0] is not None and size[1] is not None:
        one, other = (sentences.measure(w, each) for each in size if each is not None)
        said.append(w.say("size_by", width=one, height=other))
        tasks = [t for t in tasks if t.step.quantity not in _SIZES[:2]]
    for task in tasks:
        value, fact, step = known_measure(state, task), known_fact(state, task), task.step
        if value is not None and step.quantity is not None:
            name = "" if step.quantity is Quantity.LEAF_WEIGHT else f"{w.quantity(step.quantity)} "
            said.append(f"{name}{sentences.measure(w, value)}")
        elif fact is not None:
            say = next(option.say for option in step.options if option.value == fact.value)
            said.append(f"{step.called} {say}" if step.called else say)
    return ", ".join(said)


def _of(w: Wording, subjects: tuple[Subject, ...], listed: str) -> str:
    """The items listed for some subjects, as a sentence."""
    if subjects == (Subject.OPENING,):
        return sentence(listed)
    together = _ALL.get(frozenset(subjects))
    who = (
        w.name("word", together) if together else w.listed([w.subject(s) for s in subjects], "and")
    )
    return sentence(w.say("group_of", subject=who, items=listed))
