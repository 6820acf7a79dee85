"""Everything marked at the old controller is checked on the new one, at every door with it."""

from __future__ import annotations

from itertools import product

import pytest

from handsfree.job.job import Job
from handsfree.job.opening import Lock
from handsfree.language.wording import languages
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.task_selection import tasks

from ..talk import SHEET

CHECKED = {
    "opening-wires-marked": {"plate-opens"},
    "strike-wires-marked": {"strike-releases"},
    "lock-wires-marked": {"magnetic-lock-releases"},
    "sensor-wires-marked": {"sensors-act"},
    "fire-wires-marked": {"fire-release"},
}
"""The steps that mark the wires, and those that check the new controller's response."""


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("name", ["controller-replaced-pair", "double-egress"])
def test_every_input_and_output_that_was_marked_is_tried_on_the_new_controller(name, language):
    procedure = load_procedure(name, language=language)
    for lock, sensors, fire in product(Lock, (False, True), (False, True)):
        door = SHEET.opening.model_copy(
            update={"lock": lock, "sensors": sensors, "fire_rated": fire}
        )
        job = Job.open(SHEET.model_copy(update={"opening": door}))
        order = [task.step.id for task in tasks(procedure, job)]
        for marked, tried in CHECKED.items():
            if marked in order:
                assert tried <= set(order[order.index(marked) :]), (marked, lock)
            else:
                assert not tried & set(order), (marked, lock)
