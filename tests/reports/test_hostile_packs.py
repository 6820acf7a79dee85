"""Hostile packs; tests/bench/hostile_packs.py makes several hundred of them."""

from pathlib import Path

import pytest

from tests.bench.hostile_packs import attack


@pytest.mark.slow
def test_no_pack_does_harm(tmp_path: Path) -> None:
    count, wrong = attack(tmp_path, damaged=10)
    assert count["packs"] > 200
    assert wrong == []
