"""A small procedure led by a guide, at a pair whose motors are known."""

from __future__ import annotations

from handsfree.controllers.guide_loader import load_guide
from handsfree.job.job import Job
from handsfree.job.opening import Lock, Motor, Opening, Side
from handsfree.procedure.loader import parse_procedure
from handsfree.visit_record.progress import Progress

from .talk import PROCEDURE, SHEET, Talk

GUIDED = """
[[step]]
id = "set-up"
stage = "safe"
prompt = "Set the controller up. Say done when it is set up."
brief = "Set it up."
waits = "done"
guide = "set_up"
why = "It knows nothing of the door."

[[step]]
id = "let-it-learn"
stage = "safe"
prompt = "Let the controller learn. Say done when the door stands still."
brief = "Let it learn."
waits = "done"
guide = "learn"
why = "It learns how far each leaf moves."

[[step]]
id = "learn-complete"
stage = "safe"
prompt = "Is the learn cycle complete? Say in order or not in order."
brief = "Learn cycle complete?"
waits = "observation"
fact = "learn_complete"
search = "learn_ends_in_error"
why = "An unfinished learn cycle leaves values that nobody chose."
"""
MOTORS = (
    Motor(number=1, leaf=Side.LEFT, hand=Side.LEFT),
    Motor(number=2, leaf=Side.RIGHT, hand=Side.RIGHT),
)
DOOR: Opening = SHEET.opening.model_copy(update={"motors": MOTORS, "lock": Lock.STRIKE})
ENTRIES = 11
"""Number of entries in the guide 'heron' for this door, including opening and saving."""


def guided(talk: Talk, guide: str | None = "heron", door: Opening = DOOR) -> Talk:
    """Returns the talk with a guide, or without one, at the step that sets the controller up."""
    procedure = parse_procedure(PROCEDURE + GUIDED, "guided.toml", "0" * 64)
    controller = load_guide(guide) if guide is not None else None
    procedure = procedure.model_copy(update={"controller": controller})
    job = Job.open(SHEET.model_copy(update={"opening": door}))
    progress = Progress(job=job)
    talk.state = talk.state.model_copy(update={"procedure": procedure, "progress": progress})
    talk.kept.clear()
    talk.begins()
    talk.go_to("set-up")
    return talk


def set_up(talk: Talk) -> list[str]:
    """Makes every entry without looking at the display."""
    spoken: list[str] = []
    while talk.state.progress.at == "set-up":
        spoken = talk.says("next")
    return spoken
