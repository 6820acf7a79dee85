"""The voice's process answers only when the sound is complete, however busy the machine is."""

from __future__ import annotations

import shutil
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from handsfree.synthesis import tts_worker
from handsfree.synthesis.voice import VoiceWorker


def test_the_drivers_own_word_of_the_end_is_enough(tmp_path: Path, monkeypatch) -> None:
    """There is no file to look at, and no time to wait for one."""
    monkeypatch.setattr(tts_worker, "MOST_S", 0.0)
    finished = threading.Event()
    finished.set()
    assert tts_worker._wait_for(finished, tmp_path / "none.wav") is None


@pytest.mark.slow
def test_a_file_is_taken_when_it_has_stopped_growing(tmp_path: Path, monkeypatch) -> None:
    """For drivers that write the file and never say that they have finished."""
    monkeypatch.setattr(tts_worker, "STILL_S", 0.2)
    file = tmp_path / "said.wav"

    def write() -> None:
        for _ in range(6):
            time.sleep(0.05)
            with file.open("ab") as sound:
                sound.write(b"some sound")

    writing = threading.Thread(target=write)
    writing.start()
    tts_worker._wait_for(threading.Event(), file)
    assert file.stat().st_size == 60
    writing.join()


def test_no_sound_at_all_is_an_error(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(tts_worker, "MOST_S", 0.1)
    with pytest.raises(TimeoutError, match="no sound was written"):
        tts_worker._wait_for(threading.Event(), tmp_path / "none.wav")


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="apt install espeak-ng")
def test_no_prompt_is_cut_short_on_a_busy_machine() -> None:
    """Before the worker waited for the driver a text now and then came out cut, or not at all."""
    text = "Left leaf, opening time, six point two."

    def lengths(_: int) -> set[int]:
        spoken = set()
        for rate in (170, 120, 220):
            voice = VoiceWorker()
            spoken.add((rate, len(voice.speak(text, rate).samples)))
            voice.close()
        return spoken

    with ThreadPoolExecutor(6) as busy:
        found = set().union(*busy.map(lengths, range(12)))
    assert len(found) == 3
