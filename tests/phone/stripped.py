"""Runs the phone's Python with only the packages of a phone: ``python -I stripped.py``.

Arguments: the folder with the unpacked package, the site-packages, a JSON file with the visits to
walk (job, procedure, sayings), and a folder for them. Importing any other package is an error.
"""

import json
import sys
from importlib.abc import MetaPathFinder
from pathlib import Path

CODE, SITE, WALKS, INTO = sys.argv[1:]
ON_PHONE = {
    *("handsfree", "pydantic", "pydantic_core", "annotated_types", "typing_extensions"),
    *("typing_inspection", "lark", "filelock"),
}


class NothingElse(MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        top = name.partition(".")[0]
        known = top in ON_PHONE or top in sys.stdlib_module_names
        if not known and not top.startswith("_sysconfigdata"):  # Python's own, named by the machine
            raise ImportError(f"{name} is not on a phone", name=name)


sys.path[:0] = [CODE, SITE]
sys.meta_path.insert(0, NothingElse())

from handsfree.clock import FakeClock  # noqa: E402
from handsfree.phone.companion import Companion  # noqa: E402

walks = json.loads(Path(WALKS).read_text(encoding="utf-8"))
for nth, (job, procedure, sayings) in enumerate(walks):
    companion = Companion(f"{INTO}/{nth}", FakeClock())
    answers = [json.loads(companion.begin(job, procedure))]
    answers += [json.loads(companion.take_line(line)) for line in sayings]
    assert not any("error" in answer for answer in answers), answers
    companion.packed()
    companion.close()
