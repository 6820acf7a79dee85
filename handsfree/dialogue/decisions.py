"""Decisions about unresolved problems: at a hold, at a gate, and before hand-over."""

from __future__ import annotations

from handsfree.dialogue import sentences
from handsfree.dialogue.open_faults import not_in_order
from handsfree.dialogue.open_items import OpenItem
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.closed_lists import COMPLAINTS
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Subject
from handsfree.job.unit import Family
from handsfree.journal import events as ev
from handsfree.language.meaning import GoTo, Word
from handsfree.procedure.step import Step, Task
from handsfree.visit_record.faults import latest_occurrence

SAFETY_READINGS = frozenset(
    quantity
    for quantity, facts in QUANTITIES.items()
    if facts.family in (Family.FORCE, Family.TIME) and facts.use == "judged"
)
"""Quantities that limit the force and the speed with which a leaf meets people."""

MOST_NAMED = 4
"""Largest number of skipped readings named with their leaf in one question."""

HAND_OVER = "hand-over"
"""The stage that returns the door to its users."""


def undecided(turn: Turn) -> list[OpenItem]:
    """The open safety items that nobody has decided on.

    They are what fails, what is not cured, what failed before and is now too close to call,
    skipped tasks that must be answered, and skipped forces and times.
    """
    settled = turn.state.progress.settled
    found = [
        item
        for item in not_in_order(turn)
        if item.kind in ("wrong", "uncured") or failed(turn, item)
    ]
    found += [_not_recorded(turn, task) for task in unanswered(turn, "skipped")]
    found += _not_measured(turn)
    return [item for item in found if item.key not in settled]


def unanswered(turn: Turn, outcome: str | None) -> list[Task]:
    """The tasks that must be answered before the hand-over and are not.

    ``outcome`` is 'skipped', or None for those that were never asked.
    """
    ended = turn.state.progress.ended
    return [
        task
        for task in turn.state.tasks
        if task.step.required
        and ended.get(task.key) == outcome
        and turn.job.known(task.subject, task.step.fact or "") is None
    ]


def _not_recorded(turn: Turn, task: Task) -> OpenItem:
    called = task.step.called or (task.step.fact or "").replace("_", " ")
    name = turn.words.say("not_recorded", subject=turn.words.subject(task.subject), called=called)
    return OpenItem(key=task.key, kind="skipped", what=name)


def unmeasured(turn: Turn) -> list[Task]:
    """The forces and times that were skipped and not measured otherwise, undecided ones only."""
    ended, settled = turn.state.progress.ended, turn.state.progress.settled
    return [
        task
        for task in turn.state.tasks
        if task.step.quantity in SAFETY_READINGS
        and ended.get(task.key) == "skipped"
        and task.key not in settled
        and turn.job.latest(task.step.quantity, task.subject) is None
    ]


def _not_measured(turn: Turn) -> list[OpenItem]:
    """One item for everything that was not measured; it has the key of the first task."""
    tasks, w = unmeasured(turn), turn.words
    if not tasks:
        return []
    names = [sentences.task_name(w, task) for task in tasks]
    if len(names) > MOST_NAMED:
        measured = [task.step.quantity for task in tasks if task.step.quantity is not None]
        names = list(dict.fromkeys(w.quantity(quantity) for quantity in measured))
    what = w.say("not_measured", what="; ".join(names))
    return [OpenItem(key=tasks[0].key, kind="skipped", what=what)]


def failed(turn: Turn, item: OpenItem) -> bool:
    """True if an item failed before and is now too close to call: no reading has proved it
    right.
    """
    fault = latest_occurrence(turn.state.progress.faults, item.key)
    return item.kind == "close" and fault is not None and fault.open


def decide(
    turn: Turn,
    heard: Heard,
    item: OpenItem,
    word: str,
    by: str | None = None,
    place: str = HAND_OVER,
) -> Heard:
    """Records and speaks a decision; returns the utterance that continues the visit.

    An operator that is off and tagged settles everything, and every step before the hand-over is
    left out. Any other decision settles the findings on the same reading. ``place`` is where the
    decision was asked for.
    """
    clip = heard.clip if by is not None else None
    for key in _decided_with(turn, item, word):
        turn.keep(
            ev.OpenSettled.model_validate({"key": key, "word": word, "by": by, "by_clip": clip})
        )
    what = turn.words.say(word)
    if word != "tagged_out":
        what = f"{named(turn, item)}, {what}"
    turn.tell("hand_over_with" if place == HAND_OVER else "hold_with", "warning", what=what)
    if word == "tagged_out":
        _leave_out(turn)
    return onward(turn, heard, place)


def _decided_with(turn: Turn, item: OpenItem, word: str) -> list[str]:
    """The keys that a decision settles."""
    skipped = [task.key for task in unmeasured(turn)]
    keys: list[str] = []
    for each in undecided(turn):
        same = each == item or _same_reading(each, item) or _same_complaint(turn, each, item)
        if word == "tagged_out" or same:
            keys += skipped if each.key in skipped else [each.key]
    return keys


def named(turn: Turn, item: OpenItem) -> str:
    """An open item as a decision names it: 'left leaf, swings freely, not OK'."""
    what, fault = item.what.rstrip("."), latest_occurrence(turn.state.progress.faults, item.key)
    if fault is None or fault.kind != "observed":
        return what
    return f"{what}, {turn.words.name('word', 'not_in_order')}"


def _leave_out(turn: Turn) -> None:
    """Leaves out every open step before the hand-over, because the operator is off."""
    ended, why = turn.state.progress.ended, turn.words.say("tagged_out")
    for task in turn.state.tasks:
        if task.step.stage != HAND_OVER and task.key not in ended:
            turn.keep(ev.StepEnded(key=task.key, outcome="left_out", reason=why))


def _same_reading(one: OpenItem, other: OpenItem) -> bool:
    subjects = {each.key.partition("/")[0] for each in (one, other)}
    return len(subjects) == 1 and one.quantity is other.quantity is not None


def _same_complaint(turn: Turn, one: OpenItem, other: OpenItem) -> bool:
    """True if one is a defect and the other the end of the search offered for that defect."""
    for defect, search in ((one, other), (other, one)):
        about, _, name = search.key.partition("/")
        steps = (s for s in turn.state.procedure.steps if s.fact and s.search)
        fact = defect.key.partition("/")[2]
        for step in steps if about == "search" else ():
            if step.fact == fact and tree_of(turn, step) == name:
                return True
    return False


def tree_of(turn: Turn, step: Step) -> str | None:
    """The search tree for the complaint that a step asks about; None if it names none."""
    named = step.search in COMPLAINTS or step.search is None
    complaint = step.search if named else turn.job.fact(Subject.OPENING, step.search or "")
    return complaint.replace("_", "-") if complaint is not None else None


def onward(turn: Turn, heard: Heard, place: str) -> Heard:
    """Treats the utterance as 'go to the hand-over', or as 'carry on' at a hold or a gate.

    These ask for the next decision, if one is missing.
    """
    turn.wait_for(None)
    meaning = GoTo(stage=HAND_OVER) if place == HAND_OVER else Word(kind="carry_on")
    return heard.model_copy(update={"meaning": meaning})
