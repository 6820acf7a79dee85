"""The steps of a sound check: the quiet room, the tool's voice, spoken phrases."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import soxr
from numpy.typing import NDArray

from handsfree.audio.capture import Block, Capture, DeviceLost
from handsfree.audio.echo_detection import LATEST_S, Echo, find_echo
from handsfree.audio.levels import snr_db
from handsfree.audio.playback import Player, Speech
from handsfree.audio.sound_measurements import SoundMeasurement, measure
from handsfree.errors import SoundError
from handsfree.recognition.recognizer import Recognizer
from handsfree.recognition.voice_activity import Segment, Segmenter
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.visit.sound_check_advice import SpokenPhrase

SPEAK_WITHIN_S = 8.0
"""Time allowed for saying a phrase (s)."""
_LATE_S = 4.0  # for a device that wakes up slowly
_WAIT_S = 0.1

Samples = NDArray[np.int16]
Understood = Callable[[str | None, str], bool]
"""Tells whether the heard words mean the requested phrase, or with None anything at all."""
Grade = Callable[[float], int]
"""Maps a signal-to-noise ratio in dB to a readability from 1 to 5."""


class SoundCheck:
    """Runs the steps of a sound check on a running ``capture``."""

    def __init__(
        self, capture: Capture, recognizer: Recognizer, understood: Understood, grade: Grade
    ) -> None:
        self._capture = capture
        self._recognizer = recognizer
        self._understood = understood
        self._grade = grade
        self._since_s = time.monotonic()

    def quiet(self, seconds: float) -> SoundMeasurement:
        """Measures the room while nobody speaks. Raises SoundError if no sound comes at all."""
        self._drop()
        return measure(self._take(seconds))

    def echo(self, speech: Speech, player: Player) -> Echo:
        """Plays a phrase and looks for it in the microphone's sound.

        Raises SoundError if the phrase cannot be played.
        """
        self._drop()
        begun = time.monotonic()
        player.play(speech)
        recorded = self._take(time.monotonic() - begun + LATEST_S)
        played = speech.samples
        if speech.rate != SAMPLE_RATE_HZ:
            played = soxr.resample(played, speech.rate, SAMPLE_RATE_HZ)
        return find_echo(played, recorded)

    def sample(self, asked: str | None, within_s: float = SPEAK_WITHIN_S) -> SpokenPhrase:
        """Listens for the next phrase, for at most ``within_s`` seconds."""
        self._drop()
        segmenter, taken = Segmenter(), 0
        until = time.monotonic() + within_s + _LATE_S
        most = round(within_s * SAMPLE_RATE_HZ)
        while (taken < most or segmenter.voice_s) and time.monotonic() < until:
            block = self._block()
            if block is None:
                if self._capture.ended:
                    break
                continue
            taken += len(block)
            for segment in segmenter.feed(block):
                return self._sample(asked, segment)
        last = segmenter.flush()
        if last is not None:
            return self._sample(asked, last)
        return SpokenPhrase(asked=asked, heard="", understood=False)

    def recorded(
        self, samples: Samples
    ) -> tuple[SoundMeasurement | None, tuple[SpokenPhrase, ...]]:
        """Measures recorded sound: the parts without speech, and each utterance."""
        segmenter = Segmenter()
        segments = list(segmenter.feed(samples))
        if (last := segmenter.flush()) is not None:
            segments.append(last)
        if not segments:
            return measure(samples), ()
        spoken = np.zeros(len(samples), bool)
        for segment in segments:
            spoken[segment.start_sample : segment.end_sample] = True
        rest = samples[~spoken]
        quiet = measure(rest) if len(rest) >= SAMPLE_RATE_HZ // 2 else None
        return quiet, tuple(self._sample(None, segment) for segment in segments)

    # --- internals

    def _sample(self, asked: str | None, segment: Segment) -> SpokenPhrase:
        heard = self._recognizer.recognize(segment.samples).text
        over_noise_db = snr_db(segment.samples)
        return SpokenPhrase(
            asked=asked,
            heard=heard,
            understood=self._understood(asked, heard),
            sound=measure(segment.samples),
            snr_db=round(over_noise_db, 1),
            readability=self._grade(over_noise_db),
        )

    def _take(self, seconds: float) -> Samples:
        """Reads ``seconds`` of sound from now on, or less if it ends. Raises SoundError if there is
        none.
        """
        blocks: list[Samples] = []
        missing = round(seconds * SAMPLE_RATE_HZ)
        until = time.monotonic() + seconds + _LATE_S
        while missing > 0 and time.monotonic() < until and not self._capture.ended:
            block = self._block()
            if block is not None:
                blocks.append(block[:missing])
                missing -= len(block)
        if not blocks:
            raise SoundError(
                "the microphone delivers no sound",
                way_out="reconnect it, or name another with --microphone",
            )
        return np.concatenate(blocks)

    def _block(self) -> Samples | None:
        piece = self._capture.read(_WAIT_S)
        self._since_s = time.monotonic()
        if isinstance(piece, DeviceLost):
            raise SoundError(piece.why, way_out="reconnect it and start again")
        return piece.samples if isinstance(piece, Block) else None

    def _drop(self) -> None:
        """Discards what was captured since the last step."""
        stale = round((time.monotonic() - self._since_s) * SAMPLE_RATE_HZ)
        while stale > 0 and (piece := self._capture.read(0)) is not None:
            stale -= len(piece.samples) if isinstance(piece, Block) else 0
