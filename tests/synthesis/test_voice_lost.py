"""A visit whose voice hangs: texts are printed, the loss is reported once, speech returns."""

from __future__ import annotations

import os
import shutil
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from handsfree.checks.limits import load_limits
from handsfree.clock import FakeClock
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import parse_procedure
from handsfree.recognition.ears import FakeEars
from handsfree.recognition.port import Utterance
from handsfree.synthesis.mouth import WavMouth
from handsfree.synthesis.voice import VoiceWorker
from handsfree.visit.resume import first_state, opening_event
from handsfree.visit.session import Visit

from ..talk import PROCEDURE, SHEET

SMALL = parse_procedure(PROCEDURE, "small.toml", "0" * 64)
LIMITS = load_limits("a156.19")
BEFORE = ("done", "clear", "done")
HUNG = ("left leaf opening time six point two seconds", "left leaf hold open time seven seconds")
AFTER = ("left leaf closing time eight seconds", "affirm")


class Script(FakeEars):
    """Says lines, and performs actions before some of them."""

    def __init__(self, lines: tuple[str, ...], before: dict[str, Callable[[], None]]) -> None:
        super().__init__([Utterance(text) for text in lines])
        self._before = before

    def listen(self):
        heard = super().listen()
        if isinstance(heard, Utterance):
            self._before.get(heard.text, lambda: None)()
        return heard


class Stopping(VoiceWorker):
    """The real voice, whose processes are all frozen while ``still`` is set."""

    still = False

    def start(self, rate_wpm: int = 170) -> None:
        super().start(rate_wpm)
        if self.still:
            assert self.process_id is not None
            os.kill(self.process_id, signal.SIGSTOP)


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="apt install espeak-ng")
@pytest.mark.slow
def test_a_voice_that_hangs_costs_no_reading_and_is_told_of_once(tmp_path: Path) -> None:
    voice = Stopping(time_limit_s=2.0, rest_s=2.0)

    def hang() -> None:
        voice.still = True

    def recover() -> None:
        voice.still = False
        time.sleep(2.0)

    folder = tmp_path / "visit"
    with Journal.create(folder) as journal:
        visit = Visit(
            journal,
            first_state(SHEET, SMALL, LIMITS),
            language=Language.load(),
            ears=Script((*BEFORE, *HUNG, *AFTER), {HUNG[0]: hang, AFTER[0]: recover}),
            mouth=WavMouth(voice, tmp_path / "spoken.wav"),
            clock=FakeClock(),
        )
        visit.open(
            opening_event(SHEET, SMALL, LIMITS, model="none", ears="typed", mouth="wav file")
        )
        visit.run()
    voice.close()
    events = [event.body for event in read(folder)]
    assert verify(folder).whole
    assert [e.text for e in events if isinstance(e, ev.Heard)] == [*BEFORE, *HUNG, *AFTER]
    faults = [e for e in events if isinstance(e, ev.Fault)]
    assert [fault.what for fault in faults] == ["voice_lost", "voice_back"]
    assert "no answer within 2 s" in faults[0].detail
    lost, back = (events.index(fault) for fault in faults)
    spoken = [(n, e) for n, e in enumerate(events) if isinstance(e, ev.Said)]
    assert all(e.aloud for n, e in spoken if n < lost - 1 or n >= back - 1)
    mute = [e.text for n, e in spoken if lost - 1 <= n < back - 1]
    assert len(mute) > 1 and any("six point two" in text for text in mute)
    readback = next(e for n, e in spoken if n == back - 1)
    assert "eight" in readback.text
    assert any(isinstance(e, ev.ReadingAccepted) for e in events[back:])
