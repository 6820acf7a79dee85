from __future__ import annotations

import os
import shutil
import signal
import sys
import time
from abc import ABC, abstractmethod
from pathlib import Path

import numpy as np
import pytest

from handsfree.errors import VoiceError
from handsfree.synthesis.voice import FakeVoice, Voice, VoiceWorker


class AnyVoice(ABC):
    """Tests for every voice."""

    @abstractmethod
    @pytest.fixture
    def mouth(self) -> Voice: ...

    def test_a_longer_text_takes_longer_and_is_no_silence(self, mouth: Voice) -> None:
        short, long = mouth.speak("Pass."), mouth.speak("Left leaf, opening time, six point two.")
        assert 0 < short.seconds < long.seconds
        assert np.abs(short.samples).max() > 1000

    def test_the_same_text_sounds_the_same(self, mouth: Voice) -> None:
        first, again = mouth.speak("Say again."), mouth.speak("Say again.")
        assert np.array_equal(first.samples, again.samples)

    def test_it_speaks_slower_at_a_lower_rate_and_keeps_both(self, mouth: Voice) -> None:
        text = "Left leaf, opening time, six point two."
        rates = (170, 120, 170, 220, 120)
        usual, slow, again, fast, slow_again = (mouth.speak(text, rate) for rate in rates)
        assert slow.seconds > 1.15 * usual.seconds > 1.3 * fast.seconds
        assert np.array_equal(usual.samples, again.samples)
        assert np.array_equal(slow.samples, slow_again.samples)

    def test_it_may_be_closed_twice(self, mouth: Voice) -> None:
        spoken = mouth.speak("Pass.")
        mouth.close()
        mouth.close()
        assert np.abs(spoken.samples).max() > 1000


class TestFakeVoice(AnyVoice):
    @pytest.fixture
    def mouth(self) -> Voice:
        return FakeVoice()


class TestVoiceWorker(AnyVoice):
    @pytest.fixture
    def mouth(self, voice: VoiceWorker) -> Voice:
        return voice

    def test_it_speaks_on_after_its_process_was_killed(self, voice: VoiceWorker) -> None:
        voice.speak("Pass.")
        assert voice.process_id is not None
        os.kill(voice.process_id, signal.SIGKILL)
        assert voice.speak("Affirm.").seconds > 0

    def test_closing_ends_its_process(self, voice: VoiceWorker) -> None:
        voice.start()
        number = voice.process_id
        voice.close()
        assert number is not None and not process_is_there(number)


def worker_that(tmp_path: Path, *lines: str) -> tuple[str, ...]:
    """The command of a worker that becomes ready and then behaves as specified for each start."""
    script = tmp_path / "worker.py"
    ready = """print('{"ok": true}', flush=True)"""
    script.write_text("\n".join(["import sys, time", ready, *lines]), encoding="utf-8")
    return (sys.executable, str(script))


def process_is_there(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.mark.slow
def test_a_hung_worker_is_killed_by_its_time_limit(tmp_path: Path) -> None:
    voice = VoiceWorker(time_limit_s=0.5, command=worker_that(tmp_path, "time.sleep(600)"))
    voice.start()
    first = voice.process_id
    with pytest.raises(VoiceError, match=r"cannot say 'Pass.': no answer within 0.5 s"):
        voice.speak("Pass.")
    assert first is not None and not process_is_there(first)
    voice.close()


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="apt install espeak-ng")
@pytest.mark.slow
def test_a_text_is_spoken_although_the_worker_has_stopped() -> None:
    """The real worker stands still, as at a sound driver that never comes back."""
    voice = VoiceWorker(time_limit_s=2.0)
    voice.start()
    stopped = voice.process_id
    assert stopped is not None
    os.kill(stopped, signal.SIGSTOP)
    assert voice.speak("Affirm.").seconds > 0
    assert not process_is_there(stopped)
    voice.close()


def hanging(tmp_path: Path) -> tuple[tuple[str, ...], Path, Path]:
    """The command of a worker that hangs while the file 'hang' exists, that file, its starts."""
    hang, starts = tmp_path / "hang", tmp_path / "starts"
    hang.touch()
    lines = [
        "import json, os, wave",
        f"open({str(starts)!r}, 'a').write('x')",
        "for line in sys.stdin:",
        f"    while os.path.exists({str(hang)!r}):",
        "        time.sleep(0.01)",
        "    with wave.open(json.loads(line)['path'], 'wb') as file:",
        "        file.setparams((1, 2, 8000, 0, 'NONE', ''))",
        "        file.writeframes(bytes(2000))",
        "    print(json.dumps({'ok': True}), flush=True)",
    ]
    return worker_that(tmp_path, *lines), hang, starts


@pytest.mark.slow
def test_a_voice_that_hangs_for_good_is_waited_for_once_and_not_at_every_text(
    tmp_path: Path,
) -> None:
    command, hang, starts = hanging(tmp_path)
    voice = VoiceWorker(time_limit_s=1.0, rest_s=3.0, command=command)

    def fails(match: str) -> int:
        """How many workers a text has cost."""
        before = len(starts.read_text()) if starts.exists() else 0
        with pytest.raises(VoiceError, match=match):
            voice.speak("Pass.")
        return len(starts.read_text()) - before

    assert fails("no answer within 1 s") == 2
    assert [fails("tried again later") for _ in range(20)] == [0] * 20
    time.sleep(3.0)
    assert fails("no answer within 1 s") == 1
    hang.unlink()
    assert fails("tried again later") == 0
    time.sleep(3.0)
    assert voice.speak("Pass.").seconds > 0
    hang.touch()  # it was in order, so two are tried again
    starts.write_text("")
    with pytest.raises(VoiceError, match=r"cannot say 'Fail.': no answer within 1 s"):
        voice.speak("Fail.")
    assert starts.read_text() == "x"  # and the one that had spoken
    assert voice.speak("Pass.").seconds > 0  # what is kept needs no worker
    voice.close()


@pytest.mark.parametrize("answer", ["hello", "[]", "{}", "7", '{"okay": true}', '{"ok"', ""])
def test_a_worker_that_answers_nonsense_is_lost_as_a_dead_one_is(
    tmp_path: Path, answer: str
) -> None:
    voice = VoiceWorker(command=worker_that(tmp_path, f"sys.stdin.readline(); print({answer!r})"))
    with pytest.raises(VoiceError, match=r"cannot say 'Pass.': its process gave an invalid answer"):
        voice.speak("Pass.")
    voice.close()


def test_a_worker_that_cannot_be_started_is_named(tmp_path: Path) -> None:
    voice = VoiceWorker(command=(str(tmp_path / "none"),))
    with pytest.raises(VoiceError, match=r"the voice cannot be started: .*none"):
        voice.start()
    voice.close()


def test_a_worker_that_dies_each_time_is_an_error_after_the_second_try(tmp_path: Path) -> None:
    starts = tmp_path / "starts"
    dying = f"open({str(starts)!r}, 'a').write('x'); sys.stdin.readline(); sys.exit(1)"
    voice = VoiceWorker(command=worker_that(tmp_path, dying))
    with pytest.raises(VoiceError, match="its process has died"):
        voice.speak("Pass.")
    assert starts.read_text(encoding="utf-8") == "xx"
    voice.close()


def test_a_machine_without_a_voice_says_what_to_install(tmp_path: Path) -> None:
    script = tmp_path / "worker.py"
    why = "you probably do not have eSpeak or eSpeak-ng installed!"
    script.write_text(f"""print('{{"ok": false, "why": "{why}"}}')""", encoding="utf-8")
    voice = VoiceWorker(command=(sys.executable, str(script)))
    with pytest.raises(VoiceError, match=r"installed! \(install a voice: apt install espeak-ng"):
        voice.start()
    voice.close()


def test_what_was_asked_for_longest_ago_is_made_anew(tmp_path: Path) -> None:
    requests = tmp_path / "requests"
    made = [
        "import json, wave",
        "for line in sys.stdin:",
        "    request = json.loads(line)",
        f"    open({str(requests)!r}, 'a').write(request['text'] + ' ')",
        "    with wave.open(request['path'], 'wb') as file:",
        "        file.setparams((1, 2, 8000, 0, 'NONE', ''))",
        "        file.writeframes(bytes(2000))",
        "    print(json.dumps({'ok': True}), flush=True)",
    ]
    voice = VoiceWorker(kept_bytes=4999, command=worker_that(tmp_path, *made))
    for text in ("one", "two", "one", "three", "one", "two"):
        assert voice.speak(text).samples.nbytes == 2000
    voice.close()
    assert requests.read_text(encoding="utf-8").split() == ["one", "two", "three", "two"]


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="apt install espeak-ng")
def test_a_voice_of_the_language_that_is_asked_for_speaks():
    """Spanish is spoken otherwise than the same text by the machine's own voice."""
    said = {}
    for languages in ((), ("xx-yy", "es-419")):
        worker = VoiceWorker(languages=languages)
        said[languages] = worker.speak("hoja izquierda, cierre final").seconds
        worker.close()
    assert len(set(said.values())) == 2


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="apt install espeak-ng")
def test_a_language_without_a_voice_is_named():
    worker = VoiceWorker(languages=("xx-yy",))
    with pytest.raises(VoiceError, match="no voice speaks xx-yy"):
        worker.start()
    worker.close()
