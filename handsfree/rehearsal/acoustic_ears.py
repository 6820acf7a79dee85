"""The tool's ears in an acoustic rehearsal: they really recognize the technician's words.

Voice activity, recognizer and clock are the same as for a microphone, but nothing runs in real
time: sound is generated on demand. While the tool speaks nothing is heard.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from random import Random

import numpy as np
import soxr
from numpy.typing import NDArray

from handsfree.recognition.cycle_listener import CycleListener, CycleRun, MarkOf
from handsfree.recognition.port import Utterance
from handsfree.recognition.recognizer import Recognizer
from handsfree.recognition.voice_activity import Segment, Segmenter
from handsfree.rehearsal.room_acoustics import Room
from handsfree.rehearsal.simulated_ears import SimulatedClock
from handsfree.rehearsal.simulated_technician import Technician
from handsfree.rehearsal.synthetic_voices import Sound, SyntheticVoices
from handsfree.rehearsal.technician_memory import SpokenLine
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.p_center import beat_in

_BLOCK = 1600
_LEAD_S = 0.7
"""Room sound before a voice (s); longer pauses are skipped."""
_TAIL_S = 0.9
_LONGER_S = 2.0
_TRIES = 5
_VARIES = 0.06
MARKS = ("go", "check", "open", "closing", "ten", "shut")


class AcousticEars:
    """Hears the technician through a room. ``recognizer`` and ``clock_ears`` are the tool's."""

    can_time = True
    reports_silence = False

    def __init__(
        self,
        technician: Technician,
        clock: SimulatedClock,
        recognizer: Recognizer,
        clock_ears: tuple[Recognizer, MarkOf],
        room: Room,
        voices: SyntheticVoices,
        voice: str,
        stranger: str,
        watch: Callable[[SpokenLine], None] = lambda line: None,
    ) -> None:
        self._technician, self._clock, self._room = technician, clock, room
        self._recognizer, self._clock_ears = recognizer, clock_ears
        self._voices, self._voice, self._stranger = voices, voice, stranger
        self._watch = watch
        self._random = Random(f"voice {room.seed}")
        self._segmenter = Segmenter()
        self._fed = 0
        self.sound_s = 0.0
        """Sound heard so far (s)."""
        self.not_noticed = 0
        """Number of the technician's utterances that voice activity missed."""

    def listen(self) -> Utterance | None:
        """Returns the next utterance, or None once the technician has finished.

        The tool has spoken since the last one, so the ears restart, like a microphone's, and forget
        any unfinished utterance.
        """
        self._restart()
        for _ in range(_TRIES):
            line = self._technician.speak()
            if line is None:
                return None
            self._watch(line)
            self._clock.pass_by(max(0.0, line.after_s - _LEAD_S))
            if line.typed:
                return Utterance(line.text)
            segment, begun_s = self._first(self._line(line))
            if segment is None:
                segment, begun_s = self._first(self._room.silence(_LONGER_S))
            if segment is not None:
                return self._utterance(segment, begun_s)
            if line.to_tool:
                self.not_noticed += 1
                self._technician.nothing_happened()
        return None

    def time(self, expected: int, least_rms: float) -> CycleRun:
        """Runs one timed cycle, with a word said at each moment."""
        listener = CycleListener(*self._clock_ears, expected, least_rms)
        start_s = self._clock.now_s
        for block in _blocks(self._cycle()):
            listener.feed(block)
            self._clock.pass_by(len(block) / SAMPLE_RATE_HZ)
            if listener.over:
                break
        while not listener.over:
            block = self._room.silence(_BLOCK / SAMPLE_RATE_HZ)
            listener.feed(block)
            self._clock.pass_by(len(block) / SAMPLE_RATE_HZ)
        self.sound_s += self._clock.now_s - start_s
        self._restart()
        return replace(listener.finish(), start_s=start_s, end_s=self._clock.now_s)

    def _restart(self) -> None:
        self._segmenter, self._fed = Segmenter(), 0

    def _cycle(self) -> NDArray[np.int16]:
        marks = self._technician.mark()
        if marks is None:
            said = self._said("cancel the clock")
            return self._room.with_voices(5.0 + len(said) / SAMPLE_RATE_HZ, [(3.0, said)])
        # The technician presses the plate a moment after the tool says that it is listening. The
        # beat of each word, not its first sound, falls on the moment: that is how people speak in
        # time.
        words = [self._said(word) for word in MARKS]
        voices = [
            (1.0 + at - beat_in(sound.astype(np.float64)) / SAMPLE_RATE_HZ, sound)
            for at, sound in zip(marks, words, strict=True)
        ]
        return self._room.with_voices(marks[-1] + 4.0, voices)

    def _line(self, line: SpokenLine) -> NDArray[np.int16]:
        near = line.who == "technician"
        said = self._said(line.text, self._voice if near else self._stranger)
        seconds = _LEAD_S + len(said) / SAMPLE_RATE_HZ + _TAIL_S
        return self._room.with_voices(seconds, [(_LEAD_S, said)], near=near)

    def _said(self, text: str, voice: str | None = None) -> Sound:
        """The text, slightly slower or faster each time, because nobody repeats a word exactly."""
        sound = self._voices.say(voice or self._voice, text)
        pace = 1.0 + _VARIES * self._random.uniform(-1.0, 1.0)
        return np.asarray(soxr.resample(sound, SAMPLE_RATE_HZ, SAMPLE_RATE_HZ * pace))

    def _first(self, sound: NDArray[np.int16]) -> tuple[Segment | None, float]:
        """The first utterance in a piece of sound, and the clock time at which the stream began.

        Anything after it is lost, because the tool is then speaking and does not listen.
        """
        for block in _blocks(sound):
            begun_s = self._clock.now_s - self._fed / SAMPLE_RATE_HZ
            self._fed += len(block)
            self._clock.pass_by(len(block) / SAMPLE_RATE_HZ)
            self.sound_s += len(block) / SAMPLE_RATE_HZ
            segment = next(iter(self._segmenter.feed(block)), None)
            if segment is not None:
                return segment, begun_s
        return None, 0.0

    def _utterance(self, segment: Segment, begun_s: float) -> Utterance:
        heard = self._recognizer.recognize(segment.samples)
        start_s = begun_s + segment.start_sample / SAMPLE_RATE_HZ
        end_s = begun_s + segment.end_sample / SAMPLE_RATE_HZ
        return Utterance(heard.text, (), round(start_s, 3), round(end_s, 3), segment.samples)


def _blocks(sound: NDArray[np.int16]) -> Iterator[NDArray[np.int16]]:
    for start in range(0, len(sound), _BLOCK):
        yield sound[start : start + _BLOCK]
