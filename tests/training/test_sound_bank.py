"""The stored recordings and voices, and their possible pronunciations."""

import io
import json
from pathlib import Path

import numpy as np
import pytest
import soundfile
import torch

from handsfree.training.sound_bank import CUT, CUT_DIGIT, Bank, add_recordings, ways_to_say

WORDS = {"the": [[1, 2], [1, 3]], "door": [[4, 5]], "either": [[6], [7], [8], [9]], "one": [[2]]}


def empty(seconds: float = 10.0) -> Bank:
    return Bank.empty(seconds / 3600, torch.device("cpu"))


def test_the_usual_way_comes_first_and_there_are_not_too_many():
    assert ways_to_say("the door", WORDS) == ((1, 2, 4, 5), (1, 3, 4, 5))
    assert len(ways_to_say("either either either", WORDS)) == 6


def test_sound_too_short_for_its_phones_is_dropped():
    bank = empty()
    sound = np.ones(4000, np.int16)
    bank.add_utterance("words", sound, ((1,) * 20,))
    assert bank.groups == {} and bank.used == 0
    bank.add_utterance("words", sound, ((1,) * 10,))
    assert [(p.start, p.length) for p in bank.groups["words"]] == [(0, 4000)]


def test_a_full_bank_takes_no_more_and_keeps_what_it_has():
    bank = empty(seconds=1.0)
    for level in (1, 2, 3):
        bank.add_utterance("words", np.full(7000, level, np.int16), ((1,),))
    assert [p.start for p in bank.groups["words"]] == [0, 7000]
    assert bank.sound[[0, 6999, 7000, 13999, 14000]].tolist() == [1, 1, 2, 2, 0]
    assert bank.hours("words") == pytest.approx(14_000 / 16_000 / 3600)


def encoded(samples: np.ndarray) -> bytes:
    file = io.BytesIO()
    soundfile.write(file, samples, 16_000, format="FLAC")
    return file.getvalue()


def test_recordings_with_a_word_that_is_left_out_are_left_out(tmp_path):
    said = [("the door", "words"), ("door", "words"), ("", "noise")]
    files = [encoded(np.linspace(-0.1, 0.2, 8000 + n)) for n in range(len(said))]
    (tmp_path / "sound-1.bin").write_bytes(b"".join(files))
    index = [
        {
            "part": 1,
            "start": sum(map(len, files[:n])),
            "bytes": len(files[n]),
            "group": group,
            "text": text,
        }
        for n, (text, group) in enumerate(said)
    ]
    (tmp_path / "index.json").write_text(json.dumps(index), encoding="utf-8")
    bank = empty()
    add_recordings(bank, tmp_path, WORDS, without=["the"], processes=1)
    assert [(p.length, p.ways) for p in bank.groups["words"]] == [(8001, ((4, 5),))]
    assert bank.noises == [(8001, 8002)]
    assert bank.sound.abs().max() == 16_000


def test_the_words_and_digits_cut_out_of_a_recording_are_groups_of_their_own(tmp_path: Path):
    held = io.BytesIO()
    soundfile.write(held, np.arange(16_000) / 32_000, 16_000, format="FLAC")
    (tmp_path / "sound-1.bin").write_bytes(held.getvalue())
    row = {"part": 1, "start": 0, "bytes": len(held.getvalue()), "group": "an4"}
    row["text"] = "the door one"
    row["cuts"] = [["door", 4_000, 12_000], ["one", 12_000, 15_000]]
    (tmp_path / "index.json").write_text(json.dumps([row]), encoding="utf-8")
    bank = empty()
    add_recordings(bank, tmp_path, WORDS, without=[], processes=1)
    (whole,), (cut,) = bank.groups["an4"], bank.groups[CUT]
    assert (cut.start - whole.start, cut.length) == (4_000, 8_000)
    assert cut.ways == tuple(tuple(way) for way in WORDS["door"])
    (digit,) = bank.groups[CUT_DIGIT]
    assert (digit.start - whole.start, digit.length) == (12_000, 3_000)
