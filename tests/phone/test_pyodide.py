"""The unmodified core under Pyodide, in node: the same journal bodies as under CPython."""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from handsfree.journal.hash_chain import scan
from handsfree.journal.head_file import Head

from ..script import typed_lines
from .walks import JOB, PROCEDURE, bodies_of, desktop_walk

pytestmark = pytest.mark.slow


def test_a_whole_typed_visit_under_pyodide_keeps_what_the_desktop_keeps(app, tmp_path):
    if shutil.which("node") is None:
        pytest.skip("no node here: apt-get install nodejs")
    job, sayings = tmp_path / "job.toml", tmp_path / "sayings.json"
    job.write_text(JOB, encoding="utf-8")
    sayings.write_text(json.dumps(typed_lines()), encoding="utf-8")
    walk = Path(__file__).parent / "walk.mjs"
    done = subprocess.run(
        ["node", walk, app, job, PROCEDURE, sayings], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr[-2000:]
    walked = json.loads(done.stdout)
    found = scan(walked["journal"].encode(), Head.model_validate_json(walked["head"]))
    assert found.broken is None and not found.torn
    assert walked["answers"][-1]["closed"]
    assert walked["heavy"] == []
    assert bodies_of(found.events) == desktop_walk(tmp_path / "desktop", typed_lines())
