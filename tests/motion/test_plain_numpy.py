"""A log measured without numpy gives the same numbers, except for rounding."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from handsfree.motion import plain_numpy as plain
from handsfree.motion.measure import measure
from handsfree.motion.rotation_log import read_rotation_log

LOG = Path(__file__).parents[2] / "docs" / "examples" / "hard-ramp-leaf.csv"
WITHOUT = """
import sys
from pathlib import Path
sys.modules["numpy"] = None
import handsfree.motion.plain_numpy as plain
del sys.modules["numpy"]
plain.find_spec = lambda name: None
plain.provide()
from handsfree.motion.measure import measure
from handsfree.motion.rotation_log import read_rotation_log
assert sys.modules["numpy"] is plain
print(measure(read_rotation_log(Path(sys.argv[1])), open_angle_deg=90).model_dump_json())
"""


def numbers(value: Any) -> list[float]:
    """Every number in a record, in order."""
    if isinstance(value, dict):
        return [each for part in value.values() for each in numbers(part)]
    if isinstance(value, list):
        return [each for part in value for each in numbers(part)]
    return [value] if isinstance(value, int | float) else []


@pytest.mark.slow
def test_a_leaf_is_measured_without_numpy_as_with_it():
    done = subprocess.run([sys.executable, "-c", WITHOUT, str(LOG)], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr[-2000:]
    with_numpy = measure(read_rotation_log(LOG), open_angle_deg=90).model_dump_json()
    mine, theirs = json.loads(done.stdout), json.loads(with_numpy)
    assert mine["cycles"][0]["flags"] == theirs["cycles"][0]["flags"] == []
    # The curve is rounded, so a last digit may differ.
    assert numbers(mine.pop("curve")) == pytest.approx(numbers(theirs.pop("curve")), abs=0.011)
    assert numbers(mine) == pytest.approx(numbers(theirs), abs=1e-9)


def test_eigenvectors_of_a_symmetric_matrix_are_those_of_numpy():
    import numpy as np

    rows = np.random.default_rng(29).normal(size=(3, 3))
    matrix = rows @ rows.T
    values, vectors = plain.linalg.eigh(plain.Array(matrix.tolist()))
    known, _ = np.linalg.eigh(matrix)
    assert values.tolist() == pytest.approx(known.tolist())
    found = np.array(vectors.tolist())
    assert matrix @ found == pytest.approx(found * known)


@pytest.mark.parametrize("count", [1, 2, 7])
def test_percentiles_are_those_of_numpy(count):
    import numpy as np

    values = np.random.default_rng(count).normal(size=count)
    for share in (0, 10, 50, 99.5, 100):
        mine = plain.percentile(plain.Array(values.tolist()), share)
        assert mine == pytest.approx(float(np.percentile(values, share)))


def test_numpy_stays_where_it_is():
    import numpy as np

    plain.provide()
    assert sys.modules["numpy"] is np
