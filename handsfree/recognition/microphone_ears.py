"""Microphone ears: open except while the tool speaks, with a keyboard as a second input."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import replace

from handsfree.audio.capture import Block, Capture, DeviceBack, DeviceLost, Samples
from handsfree.recognition.cycle_listener import CANCEL, CycleListener, CycleRun, MarkOf, empty_run
from handsfree.recognition.ears import utterance_of
from handsfree.recognition.keyboard import Keyboard, NoKeyboard
from handsfree.recognition.port import EarEvent, QuietPeriod, SourceFault, Utterance
from handsfree.recognition.recognizer import Recognizer
from handsfree.recognition.speculative_recognizer import SpeculativeRecognizer
from handsfree.recognition.voice_activity import Segment, Segmenter, VoiceActivitySettings
from handsfree.sample_rate import SAMPLE_RATE_HZ

TAIL_S = 0.25
"""Reverberation tail ignored after playback (s)."""
TALK_WITHIN_S = 6.0
"""Time that push-to-talk keeps listening without hearing a voice (s)."""
BARGE_IN_S = 0.06
"""Speech needed to interrupt playback (s): two chunks, more than a click."""
ALL_ZERO_AFTER_S, ZERO_AGAIN_AFTER_S = 3.0, 30.0
"""Duration of digital silence that is reported, at the beginning and later (s). Early zeros mean a
muted microphone or a missing permission; later ones may be a noise gate that closes between two
utterances.
"""
AHEAD_S = 0.16
"""Silence after which the recognizer starts speculatively (s). It takes 0.1 s, measured, and 0.25 s
on a busy machine, which the rest of the silence covers.
"""
_WAIT_S = 0.05
_OVERFLOW_AGAIN_S = 30.0

OnBlock = Callable[[Samples], None]


class MicrophoneEars:
    """Splits a captured stream into utterances.

    Without a headset the ears are closed while the tool speaks and for ``tail_s`` afterwards. With
    a ``headset`` they stay open; a voice interrupts playback and is heard in full. With
    ``push_to_talk`` they open for one utterance when a key is pressed. Silences of ``quiet_at_s``
    seconds are reported, each once. ``on_block`` receives all the sound.
    """

    reports_silence = True

    def __init__(
        self,
        capture: Capture,
        recognizer: Recognizer,
        clock: tuple[Recognizer, MarkOf] | None = None,
        *,
        keyboard: Keyboard | None = None,
        headset: bool = False,
        push_to_talk: bool = False,
        tail_s: float = TAIL_S,
        settings: VoiceActivitySettings | None = None,
        quiet_at_s: Sequence[float] = (),
        on_block: OnBlock = lambda samples: None,
    ) -> None:
        self._capture = capture
        self._recognizer = SpeculativeRecognizer(recognizer)
        self._clock = clock
        self.can_time = clock is not None
        self._keyboard = keyboard or NoKeyboard()
        self._headset = headset
        self._push_to_talk = push_to_talk
        self._talking = not push_to_talk
        self._tail = round(tail_s * SAMPLE_RATE_HZ)
        self._settings = settings or VoiceActivitySettings()
        self._quiet_at_s = tuple(sorted(quiet_at_s))
        self._on_block = on_block
        self._ready: deque[EarEvent] = deque()
        self._typed: deque[str] = deque()
        self._deaf_until = 0
        self._at = 0  # the first sample not read yet
        self._quiet = 0
        self._reported = 0
        self._mouth_speaks = False
        self._zeros = 0
        self._sounded = False
        self._overflowed_at: int | None = None
        self._segmenter = Segmenter(self._settings)
        self._begun_at: int | None = None

    # --- listening

    def listen(self) -> EarEvent | None:
        """Waits for the next utterance, typed line or fault; None once the stream has ended."""
        while True:
            if self._ready:
                return self._ready.popleft()
            if (typed := self._line()) is not None:
                self._restart_silence()
                return Utterance(typed)
            if self._push_to_talk and self._keyboard.pressed():
                self._talk()
            piece = self._capture.read(_WAIT_S)
            if piece is None:
                if self._capture.ended:
                    last = self._segmenter.flush()
                    self._take(() if last is None else (last,))
                    self._segmenter = Segmenter(self._settings)
                    return self._ready.popleft() if self._ready else None
                continue
            block = self._received(piece)
            if block is not None and self._talking:
                self._hear(block)

    def time(self, expected: int, least_rms: float) -> CycleRun:
        """Listens for one timed cycle from now on."""
        if self._clock is None:
            return empty_run()
        listener = CycleListener(*self._clock, expected, least_rms)
        start: int | None = None
        while not listener.over:
            piece = self._capture.read(_WAIT_S)
            if piece is None and self._capture.ended:
                break
            line = self._line()
            if line is not None and self._clock[1](line) == CANCEL:
                listener.cancel()
            elif line is not None:
                self._typed.append(line)
            block = None if piece is None else self._received(piece)
            if isinstance(piece, DeviceLost | DeviceBack):
                break  # a run with a gap is useless
            if block is not None:
                start = block.at if start is None else start
                listener.feed(block.samples)
        self._restart_segmenter()
        self._restart_silence()
        start = self._at if start is None else start
        run = listener.finish()
        return replace(run, start_s=start / SAMPLE_RATE_HZ, end_s=self._at / SAMPLE_RATE_HZ)

    # --- while the tool speaks

    def mouth_begins(self) -> None:
        """Prepares for playback."""
        self._mouth_speaks = True
        if not self._headset:
            self._talking = not self._push_to_talk

    def interrupts(self) -> bool:
        """True if playback should stop: a voice with a headset, a talk key, or a typed line."""
        if (line := self._line()) is not None:
            self._typed.append(line)
            return True
        if self._push_to_talk:
            if self._keyboard.pressed():
                self._talk()
                return True
        elif self._headset:
            while (piece := self._capture.read(0)) is not None:
                block = self._received(piece)
                if block is not None:
                    self._hear(block)
            heard = any(not isinstance(each, QuietPeriod) for each in self._ready)
            return heard or self._segmenter.voice_s >= BARGE_IN_S
        return False

    def mouth_ended(self) -> None:
        """Ends playback and discards the sound captured during it."""
        self._mouth_speaks = False
        if self._headset or (self._push_to_talk and self._talking):
            return
        while (piece := self._capture.read(0)) is not None:
            self._received(piece)
        self._deaf_until = self._at + self._tail
        self._restart_segmenter()

    # --- internals

    def _line(self) -> str | None:
        return self._typed.popleft() if self._typed else self._keyboard.line()

    def _talk(self) -> None:
        """Opens the ears for one utterance."""
        while (piece := self._capture.read(0)) is not None:
            self._received(piece)
        self._talking = True
        self._deaf_until = self._at
        self._quiet = 0
        self._restart_segmenter()

    def _restart_segmenter(self) -> None:
        self._recognizer.forget()
        self._segmenter = Segmenter(self._settings)
        self._begun_at = None

    def _restart_silence(self) -> None:
        """Restarts the silence timer."""
        self._quiet = self._reported = 0

    def _received(self, piece: Block | DeviceLost | DeviceBack) -> Block | None:
        """Tracks the stream's clock and faults; returns the block, if there is one."""
        match piece:
            case DeviceLost(why=why):
                self._restart_segmenter()
                self._ready.append(SourceFault("microphone_lost", why))
                return None
            case DeviceBack(lost_s=lost_s):
                self._restart_segmenter()
                self._ready.append(SourceFault("microphone_back", lost_s=lost_s))
                return None
        self._at = piece.at + len(piece.samples)
        self._on_block(piece.samples)
        self._watch(piece)
        return piece

    def _watch(self, block: Block) -> None:
        if block.overflowed:
            last = self._overflowed_at
            self._overflowed_at = block.at
            if last is None or block.at - last > _OVERFLOW_AGAIN_S * SAMPLE_RATE_HZ:
                self._ready.append(SourceFault("sound_overflowed", "the machine was too busy"))
        after_s = ZERO_AGAIN_AFTER_S if self._sounded else ALL_ZERO_AFTER_S
        limit, before = round(after_s * SAMPLE_RATE_HZ), self._zeros
        zero = not block.samples.any()
        self._zeros = before + len(block.samples) if zero else 0
        if before < limit <= self._zeros:
            self._ready.append(
                SourceFault("microphone_silent", "the microphone delivers nothing but zeros")
            )
        elif before >= limit and not zero:
            self._ready.append(SourceFault("microphone_back", lost_s=before / SAMPLE_RATE_HZ))
        self._sounded = self._sounded or not zero

    def _hear(self, block: Block) -> None:
        samples = block.samples[max(0, self._deaf_until - block.at) :]
        if not len(samples):
            return
        if self._begun_at is None:
            self._begun_at = block.at + len(block.samples) - len(samples)
        self._take(tuple(self._segmenter.feed(samples)))
        paused = self._segmenter.paused(AHEAD_S)
        if paused is None:
            self._recognizer.forget()
        elif not self._recognizer.busy:
            self._recognizer.begin(paused)
        if self._segmenter.voice_s or self._mouth_speaks:  # silence during a prompt does not count
            return
        self._quiet += len(samples)
        seconds = self._quiet / SAMPLE_RATE_HZ
        if self._push_to_talk and seconds >= TALK_WITHIN_S:
            self._talking = False
        if self._reported < len(self._quiet_at_s) and seconds >= self._quiet_at_s[self._reported]:
            self._reported += 1
            self._ready.append(QuietPeriod(seconds))

    def _take(self, segments: Sequence[Segment]) -> None:
        for segment in segments:
            self._ready.append(utterance_of(segment, self._recognizer, self._begun_at or 0))
            self._restart_silence()
            self._talking = not self._push_to_talk
