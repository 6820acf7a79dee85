"""Ears at a microphone: always open but for the mouth's own time, with a keyboard beside them."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import replace

from handsfree.audio.capture import Back, Block, Capture, Lost, Samples
from handsfree.recognition.cycle_listener import CANCEL, MarkOf, Run, RunListener, no_run
from handsfree.recognition.ears import Heard, Quiet, Trouble, Utterance, utterance_of
from handsfree.recognition.keyboard import Keyboard, NoKeyboard
from handsfree.recognition.recognizer import Recognizer
from handsfree.recognition.speculative_recognizer import Ahead
from handsfree.recognition.voice_activity import Segment, Segmenter, Settings
from handsfree.sample_rate import SAMPLE_RATE_HZ

TAIL_S = 0.25
"""So long the room still sounds of the mouth after it has ended."""
TALK_WITHIN_S = 6.0
"""After a key was pressed to talk the ears stay open for so long without a voice."""
BARGE_IN_S = 0.06
"""So much voice stops the mouth: two chunks, so that one click does not."""
ALL_ZERO_AFTER_S, ZERO_AGAIN_AFTER_S = 3.0, 30.0
"""Nothing but zeros for so long, from the beginning or later: muted, or not permitted. Later it
may be a noise gate that closes between two utterances."""
AHEAD_S = 0.16
"""After so much silence the recognizer begins; measured, it takes 0.1 s, and 0.25 s on a busy
machine, which the rest of the silence covers."""
_WAIT_S = 0.05
_OVERFLOW_AGAIN_S = 30.0

OnBlock = Callable[[Samples], None]


class MicrophoneEars:
    """Takes the stream of a capture apart into utterances.

    Without a headset the ears are shut while the mouth speaks, and ``tail_s`` longer. With one
    (``headset``) they stay open, and a voice stops the mouth: its utterance is heard whole. With
    ``push_to_talk`` they are shut until a key is pressed, and open for one utterance.
    ``quiet_at_s`` are the silences that are told of, each once. ``on_block`` sees all the sound.
    """

    tells_quiet = True

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
        settings: Settings | None = None,
        quiet_at_s: Sequence[float] = (),
        on_block: OnBlock = lambda samples: None,
    ) -> None:
        self._capture = capture
        self._recognizer = Ahead(recognizer)
        self._clock = clock
        self.can_time = clock is not None
        self._keyboard = keyboard or NoKeyboard()
        self._headset = headset
        self._push_to_talk = push_to_talk
        self._talking = not push_to_talk
        self._tail = round(tail_s * SAMPLE_RATE_HZ)
        self._settings = settings or Settings()
        self._quiet_at_s = tuple(sorted(quiet_at_s))
        self._on_block = on_block
        self._ready: deque[Heard] = deque()
        self._typed: deque[str] = deque()
        self._deaf_until = 0
        self._at = 0  # the first sample that was not read yet
        self._quiet = 0
        self._told = 0
        self._mouth_speaks = False
        self._zeros = 0
        self._sounded = False
        self._overflowed_at: int | None = None
        self._segmenter = Segmenter(self._settings)
        self._begun_at: int | None = None

    # --- what is heard

    def listen(self) -> Heard | None:
        """The next thing that is heard, typed or wrong; None when the stream has ended."""
        while True:
            if self._ready:
                return self._ready.popleft()
            if (typed := self._line()) is not None:
                self._rested()
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

    def time(self, expected: int, least_rms: float) -> Run:
        """Listens for one run of the clock from now on."""
        if self._clock is None:
            return no_run()
        listener = RunListener(*self._clock, expected, least_rms)
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
            if isinstance(piece, Lost | Back):
                break  # a run with a hole in it is none
            if block is not None:
                start = block.at if start is None else start
                listener.feed(block.samples)
        self._open_anew()
        self._rested()
        start = self._at if start is None else start
        run = listener.finish()
        return replace(run, start_s=start / SAMPLE_RATE_HZ, end_s=self._at / SAMPLE_RATE_HZ)

    # --- beside the mouth

    def mouth_begins(self) -> None:
        """The mouth is about to be heard."""
        self._mouth_speaks = True
        if not self._headset:
            self._talking = not self._push_to_talk

    def interrupts(self) -> bool:
        """Whether the mouth is to stop: a voice with a headset, a key to talk, a typed line."""
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
            told = any(not isinstance(each, Quiet) for each in self._ready)
            return told or self._segmenter.voice_s >= BARGE_IN_S
        return False

    def mouth_ended(self) -> None:
        """The mouth is silent again: what was heard of it is let go of."""
        self._mouth_speaks = False
        if self._headset or (self._push_to_talk and self._talking):
            return
        while (piece := self._capture.read(0)) is not None:
            self._received(piece)
        self._deaf_until = self._at + self._tail
        self._open_anew()

    # --- inside

    def _line(self) -> str | None:
        return self._typed.popleft() if self._typed else self._keyboard.line()

    def _talk(self) -> None:
        """Opens the ears for one utterance."""
        while (piece := self._capture.read(0)) is not None:
            self._received(piece)
        self._talking = True
        self._deaf_until = self._at
        self._quiet = 0
        self._open_anew()

    def _open_anew(self) -> None:
        self._recognizer.forget()
        self._segmenter = Segmenter(self._settings)
        self._begun_at = None

    def _rested(self) -> None:
        """Somebody was heard: silence counts from here."""
        self._quiet = self._told = 0

    def _received(self, piece: Block | Lost | Back) -> Block | None:
        """Follows the stream's clock and its troubles; the block where there is one."""
        match piece:
            case Lost(why=why):
                self._open_anew()
                self._ready.append(Trouble("microphone_lost", why))
                return None
            case Back(lost_s=lost_s):
                self._open_anew()
                self._ready.append(Trouble("microphone_back", lost_s=lost_s))
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
                self._ready.append(Trouble("sound_overflowed", "the machine was too busy"))
        after_s = ZERO_AGAIN_AFTER_S if self._sounded else ALL_ZERO_AFTER_S
        limit, before = round(after_s * SAMPLE_RATE_HZ), self._zeros
        zero = not block.samples.any()
        self._zeros = before + len(block.samples) if zero else 0
        if before < limit <= self._zeros:
            self._ready.append(
                Trouble("microphone_silent", "the microphone delivers nothing but zeros")
            )
        elif before >= limit and not zero:
            self._ready.append(Trouble("microphone_back", lost_s=before / SAMPLE_RATE_HZ))
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
        if self._segmenter.voice_s or self._mouth_speaks:  # a silence into a prompt is none
            return
        self._quiet += len(samples)
        seconds = self._quiet / SAMPLE_RATE_HZ
        if self._push_to_talk and seconds >= TALK_WITHIN_S:
            self._talking = False
        if self._told < len(self._quiet_at_s) and seconds >= self._quiet_at_s[self._told]:
            self._told += 1
            self._ready.append(Quiet(seconds))

    def _take(self, segments: Sequence[Segment]) -> None:
        for segment in segments:
            self._ready.append(utterance_of(segment, self._recognizer, self._begun_at or 0))
            self._rested()
            self._talking = not self._push_to_talk
