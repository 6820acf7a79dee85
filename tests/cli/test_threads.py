"""One thread for numpy's matrices, unless the user says otherwise."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

NAME = "OPENBLAS_NUM_THREADS"


@pytest.mark.parametrize(("given", "used"), [(None, "1"), ("3", "3")])
def test_the_command_line_sets_it_before_numpy_is_there(given: str | None, used: str):
    ask = f"import handsfree.cli, os, sys; print('numpy' in sys.modules, os.environ['{NAME}'])"
    env = {name: value for name, value in os.environ.items() if name != NAME}
    env |= {} if given is None else {NAME: given}

    said = subprocess.run(
        [sys.executable, "-c", ask], env=env, capture_output=True, text=True, check=True
    )

    assert said.stdout.split() == ["False", used]
