"""A rehearsed visit in which a phone on the leaf takes the times."""

from __future__ import annotations

import pytest

from handsfree.job.quantity import Quantity
from handsfree.job.reading import Taken
from handsfree.journal.motion_events import LeafMeasured
from handsfree.journal.reader import read
from handsfree.language.interpreter import Language
from handsfree.rehearsal import leaf_logs
from handsfree.rehearsal.door_file import load_door
from handsfree.rehearsal.outcome import outcome_of
from handsfree.rehearsal.rehearsal import Rehearsal


@pytest.mark.slow
def test_a_phone_that_slips_is_refused_and_the_leaf_measured_again(tmp_path, monkeypatch):
    drawn = iter((True, False))
    monkeypatch.setattr(leaf_logs.LeafLogs, "slips", lambda self: next(drawn, False))
    rehearsal = Rehearsal(load_door("clinic-single"), seed=2, language=Language.load(), motion=True)
    progress = rehearsal.run(tmp_path / "v")
    events = read(tmp_path / "v")
    ending = outcome_of(rehearsal, progress, events)
    logs = [event.body for event in events if isinstance(event.body, LeafMeasured)]
    assert "phone slipped" in logs[0].flags and not logs[1].flags
    assert (ending.closed, ending.wrong, ending.held("wrong")) == (True, (), 0)
    assert (ending.logs, ending.logs_refused) == (len(logs), 1)
    times = [r for r in progress.job.readings if r.quantity is Quantity.OPENING_TIME]
    assert {r.taken for r in times} == {Taken.SENSOR} and times[0].log == "leaf-002.csv"
    # The largest energy is judged, and is that of the door's own equations.
    judged = {one.rule: one for one in ending.judged}
    assert judged["largest opening energy"].held == "right"
    assert (tmp_path / "v" / "motion" / "leaf-001.csv").is_file()
