"""A typed visit killed at random moments; tests/bench/kills.py repeats it three hundred times."""

from collections import Counter
from pathlib import Path

import pytest

from tests.bench.kills import kill_repeatedly


@pytest.mark.slow
def test_nothing_that_was_printed_is_lost_by_a_kill(tmp_path: Path) -> None:
    count: Counter[str] = Counter()
    for seed in range(7, 12):  # a busy machine comes less far between two kills
        (tmp_path / str(seed)).mkdir()
        count += kill_repeatedly(tmp_path / str(seed), kills=10, seed=seed)
        if count["readings"] > 10:
            break
    assert count["readings"] > 10
