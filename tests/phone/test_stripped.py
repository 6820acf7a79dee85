"""The app's code runs without the packages that a phone lacks: numpy, click, sound.

The same under WebAssembly is in test_pyodide.py, for machines with the parts.
"""

import io
import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pydantic
import pytest

from handsfree.journal import events as ev
from handsfree.journal.reader import read
from handsfree.language.wording import languages
from handsfree.phone.build import own_code
from handsfree.procedure.loader import shipped_procedures

from ..script import typed_lines
from .walks import JOB, PROCEDURE

pytestmark = pytest.mark.slow

LINES = 40


def test_every_procedure_begins_and_a_visit_goes_on_with_what_a_phone_has(tmp_path):
    with zipfile.ZipFile(io.BytesIO(own_code())) as packed:
        packed.extractall(tmp_path / "code")
    begun = [
        [JOB.replace("[job]", f'[job]\nlanguage = "{language}"'), name, []]
        for language in languages()
        for name in shipped_procedures(language)
    ]
    walks = tmp_path / "walks.json"
    told = [[JOB, PROCEDURE, typed_lines()[:LINES]], *begun]
    walks.write_text(json.dumps(told), encoding="utf-8")
    site = Path(pydantic.__file__).parents[1]
    command = [sys.executable, "-I", Path(__file__).with_name("stripped.py"), tmp_path / "code"]
    done = subprocess.run(
        [*command, site, walks, tmp_path / "visits"], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert len(begun) > 10 and len(list((tmp_path / "visits").iterdir())) == 1 + len(begun)
    heard = [e.body.text for e in read(tmp_path / "visits" / "0") if isinstance(e.body, ev.Heard)]
    assert heard == typed_lines()[:LINES]
