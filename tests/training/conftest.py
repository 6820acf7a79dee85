"""The training has its own dependencies (the train extra); without torch it is not tested."""

from importlib.util import find_spec
from pathlib import Path

import pytest


class Skipped(pytest.Module):
    """A test file that is not even imported."""

    def collect(self):
        pytest.skip("training needs the train extra: pip install '.[train]'")


if find_spec("torch") is None:

    def pytest_pycollect_makemodule(module_path: Path, parent: pytest.Collector) -> pytest.Module:
        return Skipped.from_parent(parent, path=module_path)
