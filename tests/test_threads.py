"""numpy's matrices use one thread, unless the user says otherwise."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

NAMES = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("given", "used"), [(None, "1"), ("3", "3")])
def test_the_package_sets_it_before_numpy_is_there(name: str, given: str | None, used: str):
    ask = f"import handsfree, os, sys; print('numpy' in sys.modules, os.environ['{name}'])"
    env = {one: value for one, value in os.environ.items() if one not in NAMES}
    env |= {} if given is None else {name: given}

    said = subprocess.run(
        [sys.executable, "-c", ask], env=env, capture_output=True, text=True, check=True
    )

    assert said.stdout.split() == ["False", used]
