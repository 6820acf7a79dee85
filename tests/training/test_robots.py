"""The robots' sound is stored in the same way as the natural voices'."""

import sys
from pathlib import Path

import numpy as np
import torch

from handsfree.training import robots
from handsfree.training.sound_bank import SYNTHETIC, Bank, add_synthetic


def test_what_the_robots_read_can_be_learned_from(tmp_path: Path, monkeypatch):
    (tmp_path / "texts.txt").write_text("stop\nleft\nstop\n", encoding="utf-8")

    def read_all(texts, folder, processes):
        for number in (1, 0):  # as they get done
            yield number, np.full(4_000 + number, number + 1, np.int16)

    monkeypatch.setattr(robots, "read_all", read_all)
    monkeypatch.setattr(sys, "argv", ["robots", str(tmp_path), "--texts", "2"])
    robots.main()
    bank = Bank.empty(1 / 360, torch.device("cpu"))
    add_synthetic(bank, SYNTHETIC, tmp_path / "robots", {"stop": [[1]], "left": [[2]]})
    assert [(p.ways, p.length) for p in bank.groups[SYNTHETIC]] == [
        (((2,),), 4_001),
        (((1,),), 4_000),
    ]
