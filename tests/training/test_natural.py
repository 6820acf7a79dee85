"""Each share of the sayings gets its own sound file, and the bank takes them all."""

import json
import sys
from pathlib import Path

import numpy as np
import torch

from handsfree.training import natural
from handsfree.training.kokoro_network import Saying
from handsfree.training.sound_bank import NATURAL, Bank, add_synthetic

ONLY = ((0, 1.0),)
TEXTS = ["stop", "left leaf", "stop", "of a"]
SAYINGS = [Saying(n, (1, 2, 3), ONLY, ONLY) for n in range(4)]
WORDS = {"stop": [[1, 2]], "left": [[3]], "leaf": [[4]], "of": [[5] * 50], "a": [[6] * 50]}


def test_two_shares_are_said_and_learned_from(tmp_path: Path, monkeypatch):
    folder = tmp_path / "natural"
    folder.mkdir()
    np.save(folder / "styles.npy", np.zeros((1, 5, 256), np.float16))
    monkeypatch.setattr(natural, "read_sayings", lambda _: (TEXTS, SAYINGS))

    class Silent:
        @classmethod
        def load(cls, _):
            return cls()

        def to(self, _):
            return self

    def speak(network, sayings, voices, device, seconds, emit):
        for each in sayings:
            emit(each.number, np.full(4_000 + each.number, each.number + 1, np.int16))
        return len(sayings)

    monkeypatch.setattr(natural, "Kokoro", Silent)
    monkeypatch.setattr(natural, "speak", speak)
    for share in ("1/2", "2/2"):
        monkeypatch.setattr(sys, "argv", ["natural", str(tmp_path), "--share", share])
        natural.main()
    rows = [json.loads(r) for r in (folder / "sound-2.jsonl").read_text().splitlines()]
    assert rows == [[0, 4_001, "left leaf", 1], [4_001, 4_003, "of a", 3]]

    bank = Bank.empty(1 / 360, torch.device("cpu"))
    add_synthetic(bank, NATURAL, folder, WORDS)
    pieces = bank.groups[NATURAL]
    # 'of a' has more phones here than its sound has room for.
    assert [piece.ways for piece in pieces] == [((1, 2),), ((1, 2),), ((3, 4),)]
    for piece, value in zip(pieces, (1, 3, 2), strict=True):
        there = bank.sound[piece.start : piece.start + piece.length]
        assert there.unique().tolist() == [value]


def test_a_full_bank_takes_no_part_of_a_file(tmp_path: Path):
    folder = tmp_path / "natural"
    folder.mkdir()
    np.ones(50_000, np.int16).tofile(folder / "sound-1.raw")
    (folder / "sound-1.jsonl").write_text('[0, 9000, "stop", 0]\n')
    bank = Bank.empty(1 / 3600, torch.device("cpu"))
    add_synthetic(bank, NATURAL, folder, WORDS)
    assert not bank.groups.get(NATURAL)
