"""A typed visit killed at random moments; tests/bench/kills.py repeats it many times."""

from pathlib import Path

import pytest

from tests.bench.kills import kill_repeatedly


@pytest.mark.slow
def test_nothing_that_was_printed_is_lost_by_a_kill(tmp_path: Path) -> None:
    count = kill_repeatedly(tmp_path, kills=10, seed=7)
    assert count["readings"] > 10
