"""The reminders of a limit set that apply to a job. Reminders are not requirements."""

from __future__ import annotations

from handsfree.checks.limit_set import About, LimitSet, Reminder
from handsfree.job.job import Job
from handsfree.job.opening import Activation

_CONTROLS = (
    Activation.PUSH_PLATES,
    Activation.TOUCHLESS_SWITCH,
    Activation.KEY_SWITCH,
    Activation.CARD_READER,
    Activation.KEYPAD,
)


def reminders(job: Job, limits: LimitSet) -> tuple[Reminder, ...]:
    """The reminders for this door, in the order of the set."""
    opening = job.opening
    applies = {
        About.EVERY_DOOR: True,
        About.CONTROL: opening.activation in _CONTROLS,
        About.PAIR: len(opening.leaves) > 1,
        About.FIRE_DOOR: opening.fire_rated,
        About.SERIES: opening.vestibule,
    }
    return tuple(reminder for reminder in limits.reminder if applies[reminder.about])
