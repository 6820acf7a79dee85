"""The speakers of the training, the excluded ones, and complete sayings."""

from pathlib import Path
from random import Random

import numpy as np
import pytest

from handsfree.training import natural_voices as voices
from handsfree.training.natural_voices import Phonemizer


def test_nobody_who_is_kept_apart_is_part_of_a_mix():
    mixed = {name for mixes in voices.MIXED.values() for _, names in mixes for name in names}
    assert not mixed & {*voices.RESERVED, *voices.HELD_OUT, *voices.DEVELOPMENT}
    spanish = {name for _, names in voices.MIXED["es"] for name in names}
    assert not spanish & {*voices.HELD_OUT_SPANISH, *voices.DEVELOPMENT_SPANISH}
    assert not set(voices.all_voices()) & set(voices.RESERVED)
    assert not set(voices.HELD_OUT) & set(voices.DEVELOPMENT)


def test_held_out_voices_are_of_both_sexes_and_both_accents():
    assert {name[:2] for name in voices.HELD_OUT} == {"af", "am", "bf", "bm"}


def test_the_shares_of_a_mix_add_up_to_one():
    rng = Random(2)
    for _ in range(200):
        mix = voices._mix("en", voices.all_voices(), rng)
        assert 1 <= len(mix) <= 3
        assert sum(share for _, share in mix) == pytest.approx(1, abs=0.002)


def test_sayings_are_read_as_they_were_written(tmp_path: Path):
    folder = tmp_path / "source" / "voices"
    folder.mkdir(parents=True)
    row = np.arange(voices.STYLE_ROWS * voices.STYLE_SIZE, dtype="<f4") / 1e6
    for name in voices.all_voices():
        row.tofile(folder / f"{name}.bin")
    said = [
        voices.said_by("am_liam", 0, (5, 6, 7), 1.1),
        voices.said_by("bf_lily", 1, (8, 9, 10), 0.9),
    ]
    voices.carry_sayings(tmp_path / "source", tmp_path / "out", ["one", "two words"], said)
    assert voices.read_sayings(tmp_path / "out") == (["one", "two words"], said)
    kept = np.load(tmp_path / "out" / "styles.npy")
    assert kept.shape == (len(voices.all_voices()), voices.LONGEST_TOKENS + 1, voices.STYLE_SIZE)
    assert np.allclose(kept[0, 3], row.reshape(voices.STYLE_ROWS, -1)[3], atol=1e-4)


def test_text_becomes_the_symbols_of_the_voice():
    pytest.importorskip("espeakng_loader", reason="comes with the train extra")
    # Of 'yes.' in espeak-ng's American English: j, stress, open e, s, full stop.
    symbols = {"j": 52, "\u02c8": 156, "ɛ": 86, "s": 61, ".": 4}
    phonemizer = Phonemizer(symbols)
    assert phonemizer.tokens("yes.", "en-us") == (52, 156, 86, 61, 4)
    assert phonemizer.tokens("yes", "en") == (52, 156, 86, 61)
    with pytest.raises(ValueError, match="no voice 'xx-none'"):
        phonemizer.tokens("yes", "xx-none")
