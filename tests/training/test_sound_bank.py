"""What is kept of recordings and voices, and how it may be said."""

import io
import json
from threading import Event

import numpy as np
import pytest
import soundfile
import torch

from handsfree.training import sound_bank as bank_module
from handsfree.training.sound_bank import (
    SYNTHETIC,
    Bank,
    add_recordings,
    add_synthetic,
    ways_to_say,
)

WORDS = {"the": [[1, 2], [1, 3]], "door": [[4, 5]], "either": [[6], [7], [8], [9]]}


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


def test_reading_aloud_ends_when_it_is_told_to(tmp_path, monkeypatch):
    (tmp_path / "texts.txt").write_text("\n".join(["the door"] * 100), encoding="utf-8")
    bank, stop, ended = empty(), Event(), []

    def read_all(texts, folder, processes):
        try:
            for number, _ in enumerate(texts):
                if number == 3:
                    stop.set()
                yield number, np.ones(8000, np.int16)
        finally:
            ended.append(number)

    monkeypatch.setattr(bank_module, "read_all", read_all)
    add_synthetic(bank, tmp_path, WORDS, processes=1, count=50, stop=stop)
    assert len(bank.groups[SYNTHETIC]) == ended[0] == 3
