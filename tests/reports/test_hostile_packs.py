"""Packs that want to do harm; tests/bench/hostile_packs.py makes some hundreds of them."""

from pathlib import Path

import pytest

from tests.bench.hostile_packs import attack


@pytest.mark.slow
def test_no_pack_does_harm(tmp_path: Path) -> None:
    count, wrong = attack(tmp_path, damaged=10)
    assert count["packs"] > 200
    assert wrong == []
