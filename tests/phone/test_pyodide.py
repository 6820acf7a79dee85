"""The unmodified core under Pyodide, run in node, gives the same journal bodies as CPython."""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from handsfree.clock import FakeClock
from handsfree.dialogue.questions.door_feature import DoorFeatureQuestion
from handsfree.journal.hash_chain import scan
from handsfree.journal.head_file import Head
from handsfree.journal.reader import read
from handsfree.phone.companion import Companion
from handsfree.procedure.loader import shipped_procedures

from ..dialogue.technician import answer_to
from ..script import typed_lines
from .walks import JOB, PROCEDURE, bodies_of, desktop_walk

pytestmark = pytest.mark.slow

MOST = 400
"""More answers than any procedure needs."""


def under_pyodide(app, folder, walks):
    if shutil.which("node") is None:
        pytest.skip("no node here: apt-get install nodejs")
    file = folder / "walks.json"
    file.write_text(json.dumps(walks), encoding="utf-8")
    walk = Path(__file__).parent / "walk.mjs"
    done = subprocess.run(["node", walk, app, file], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr[-2000:]
    told = json.loads(done.stdout)
    assert told["heavy"] == []
    return told["walked"]


def kept(walked):
    """The bodies of a walk with an intact journal."""
    found = scan(walked["journal"].encode(), Head.model_validate_json(walked["head"]))
    assert found.broken is None and not found.torn
    assert walked["answers"][-1]["closed"]
    return bodies_of(found.events)


def test_a_whole_typed_visit_under_pyodide_keeps_what_the_desktop_keeps(app, tmp_path):
    (walked,) = under_pyodide(app, tmp_path, [[JOB, PROCEDURE, typed_lines()]])
    assert kept(walked) == desktop_walk(tmp_path / "desktop", typed_lines())


def sayings(name, folder):
    """What a technician with a door in order says in a procedure, and what the visit kept."""
    companion = Companion(str(folder), FakeClock())
    shown, lines = json.loads(companion.begin(JOB, name)), []
    while not shown["closed"]:
        assert len(lines) < MOST, shown
        asks_feature = isinstance(companion._visit.state.pending, DoorFeatureQuestion)
        lines.append("yes" if asks_feature else answer_to(companion._visit.state, "slams"))
        shown = json.loads(companion.take_line(lines[-1]))
    companion.close()
    return lines, bodies_of(read(folder))


def test_every_procedure_is_walked_to_its_end(app, tmp_path):
    names = shipped_procedures()
    walks = {name: sayings(name, tmp_path / name) for name in names}
    told = under_pyodide(app, tmp_path, [[JOB, name, walks[name][0]] for name in names])
    for name, walked in zip(names, told, strict=True):
        assert kept(walked) == walks[name][1], name
