"""A conversation at a door about which the job file says little."""

from __future__ import annotations

from handsfree.checks.limits import load_limits
from handsfree.dialogue import state_machine
from handsfree.job_file.loader import parse_sheet
from handsfree.journal.events import StepEntered
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.visit.resume import first_state
from handsfree.visit_record.progress import apply

from ..talk import Talk

NAME_ALONE = '[opening]\nname = "back door"\n'
TOLD = """
[opening]
name = "main entrance"
seen_from = "corridor"
swing = "same way"
activation = "push plates"
fire_rated = false
sensors = false
lock = "latch"
power_fail_spring = false
vestibule = false
astragal = false
flush_bolts = "none"
power_supply = "breaker"
battery_backup = false
guide_rails = false
"""


def enter(talk: Talk, key: str) -> None:
    """Enters a step, whatever is still open before it."""
    progress = apply(talk.state.progress, StepEntered(key=key))
    talk.state = talk.state.model_copy(update={"progress": progress, "pending": None})


def at_the_door(
    job: str, procedure: str = "controller-replaced-pair", language: str = "en"
) -> tuple[Talk, list[str]]:
    """A conversation that has begun, and its first words."""
    sheet = parse_sheet(f'[job]\nlanguage = "{language}"\n{job}', "door.job.toml")
    steps = load_procedure(procedure, language=language)
    state = first_state(sheet, steps, load_limits("a156.19"))
    talk = Talk(state=state, language=Language.load(language=language))
    return talk, talk._take(state_machine.begin(state, 0.0))
