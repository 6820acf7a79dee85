"""Runs a visit: connects ears, grammar, conversation, journal and mouth.

The pure conversation makes every decision. The results of an utterance are written to disk together
with the utterance, and then spoken. A kill at any moment leaves complete turns and loses at most
the current utterance.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from decimal import Decimal
from typing import TYPE_CHECKING

from handsfree.clock import Clock
from handsfree.dialogue import second_opinion, sentences, state_machine
from handsfree.dialogue.state import (
    Heard,
    Keep,
    MeasureLeaf,
    Reply,
    Say,
    Silence,
    Sound,
    State,
    TimeCycle,
    Tone,
    Voice,
)
from handsfree.errors import HandsfreeError, JournalError, JournalGone, SoundError
from handsfree.job.closed_lists import Confirm, SpeechLevel
from handsfree.job.reading import Subject, Taken
from handsfree.journal import events as ev
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.language.meaning import MEANING
from handsfree.recognition.cycle_run import CycleRun
from handsfree.recognition.port import Ears, QuietPeriod, SourceFault, Utterance
from handsfree.second_ear.port import SecondEar
from handsfree.synthesis.port import Mouth, Spoken
from handsfree.timing.cycle import MOMENTS
from handsfree.timing.mark import VOICE_SHARE
from handsfree.visit.clip_policy import ClipPolicy
from handsfree.visit.clock_monitor import ClockMonitor
from handsfree.visit.cross_check import LAST_WAIT_S, RECORDING_WAIT_S, CrossCheck
from handsfree.visit.cycle_events import event_of, heard_of
from handsfree.visit.leaf_log import measure_newest
from handsfree.visit.resume import code_in, readings_in
from handsfree.visit.understanding import RetryRecognizer, understand
from handsfree.visit_record.progress import Progress

if TYPE_CHECKING:  # a phone has no settings file
    from handsfree.settings import KeepClips

Watcher = Callable[[ev.Event], None]


_WHOLE = ("warning", "caution")
_GONE: dict[str, ev.FaultKind] = {"loudspeaker": "loudspeaker_lost", "voice": "voice_lost"}
_BACK: dict[str, ev.FaultKind] = {"loudspeaker": "loudspeaker_back", "voice": "voice_back"}


class Visit:
    """A visit in progress. ``watch`` is called with every event after it is on disk.

    ``voice`` is the level (RMS, 0 to 1) of the last speaker, if known from before a break; a mark
    of the clock must not be much softer. ``retry`` checks each reading, and utterances not
    understood while an answer is expected. ``ear`` hears values and free words a second time
    (docs/second-ear.md).
    """

    def __init__(
        self,
        journal: Journal,
        state: State,
        *,
        language: Language,
        ears: Ears,
        mouth: Mouth,
        clock: Clock,
        watch: Watcher = lambda event: None,
        tones: bool = True,
        keep_clips: KeepClips = "all",
        voice: float = 0.0,
        retry: RetryRecognizer | None = None,
        ear: SecondEar | None = None,
    ) -> None:
        self._journal = journal
        self._sounds = ClipPolicy(journal, keep_clips)
        self._times = ClockMonitor(clock)
        self._state = state
        self._language = language
        self._ears = ears
        self._mouth = mouth
        self._clock = clock
        self._watch = watch
        self._tones = tones
        self._last_heard_s: float | None = None
        self._voice_rms = voice
        self._hears_again = retry
        self._second = CrossCheck(ear, language)
        self._spoken_s = 0.0
        self._mute: str | None = None
        self._timed_leaf: Subject | None = None

    @property
    def progress(self) -> Progress:
        """The state of the work so far."""
        return self._state.progress

    @property
    def place(self) -> str:
        """The current step, its number and the number of steps; '' before the first."""
        task, tasks, w = self._state.task, self._state.tasks, self._state.words
        if task is None:
            return ""
        step = sentences.task_name(w, task)
        return w.say("panel_place", index=tasks.index(task) + 1, of=len(tasks), step=step)

    @property
    def state(self) -> State:
        """Everything the conversation knows now."""
        return self._state

    def open(
        self, opened: ev.VisitOpened, level: SpeechLevel = "full", confirm: Confirm = "every"
    ) -> None:
        """Writes the first event and speaks the first prompt."""
        self._follow(state_machine.begin(self._state, 0.0, level, confirm), opened)

    def reopen(self, resumed: ev.VisitResumed, *faults: ev.Fault) -> None:
        """Continues after a break at the step where the visit stopped, and reports faults."""
        self._follow(state_machine.resume(self._state, 0.0), resumed, *faults)
        self._tell_faults(faults)

    def run(self) -> bool:
        """Listens until the visit closes or the sound ends; True if it closed."""
        while not self.progress.closed:
            match self._ears.listen():
                case None:
                    break
                case QuietPeriod(seconds=seconds):
                    self._hear_second()
                    self._follow(
                        state_machine.answer(
                            self._state, Silence(), self._state.quiet_since_s + seconds
                        )
                    )
                case SourceFault() as trouble:
                    self._fault(trouble.what, trouble.detail, trouble.lost_s)
                case CycleRun() as run:
                    self._timed(run)
                case utterance:
                    self.hear(utterance)
        last_s = LAST_WAIT_S if self._ears.reports_silence else RECORDING_WAIT_S
        self._keep(*self._second.typed_up(last_s))
        return self.progress.closed

    def hear(self, utterance: Utterance) -> None:
        """Handles one utterance: stores its sound, understands it, answers."""
        self._hear_second(late=True)
        self._notice_silence(utterance)
        levels = _levels_of(utterance)
        if levels is not None:
            self._voice_rms = levels[0]
        said = understand(utterance, self._state, self._language, self._hears_again)
        meaning = said.meaning
        kept_clip, faults = self._sounds.of_utterance(utterance, meaning, self._state)
        clip, clip_sha256 = kept_clip or (None, None)
        kept = ev.Heard(
            text=said.text,
            meaning=None if meaning is None else MEANING.dump_python(meaning, mode="json"),
            start_s=None if utterance.start_s is None else _hundredths(utterance.start_s),
            end_s=None if utterance.end_s is None else _hundredths(utterance.end_s),
            clip=clip,
            clip_sha256=clip_sha256,
            may_be=said.may_be,
            retried=said.retried,
        )
        heard = Heard(
            text=said.text,
            meaning=meaning,
            clip=clip,
            taken=Taken.TYPED if utterance.typed else Taken.SAID,
            snr_db=None if levels is None else levels[1],
            rival=said.rival,
            rivals=said.rivals,
            may_be=readings_in(self._language, said.may_be),
            other_code=code_in(self._language, said.may_be),
            retried=said.retried,
        )
        now_s = self._clock.rising_s() if utterance.end_s is None else utterance.end_s
        self._last_heard_s = now_s
        step = state_machine.answer(self._state, heard, now_s)
        if utterance.samples is not None:
            before = sum(isinstance(reply, Keep) and reply.earlier for reply in step[1])
            self._second.give(self._journal.next_seq + before, utterance.samples, meaning, step)
        self._spoken_s = 0.0
        self._follow(step, kept, *faults)
        self._tell_faults(faults)
        self._hear_second()
        if utterance.start_s is None:
            self._pause()

    def _hear_second(self, *, late: bool = False) -> None:
        """Takes the results of the second ear so far; it has as much time as the tool's speech.

        A live visit never waits for it. A recording or a rehearsal can pause, so it does. ``late``
        means that the next utterance has already come.
        """
        wait_s = self._spoken_s if self._ears.reports_silence else RECORDING_WAIT_S
        if second_opinion.waits(self._state):
            if (found := self._second.value(self._state, wait_s, late=late)) is not None:
                heard, kept = found
                self._follow(state_machine.answer(self._state, heard, 0.0), kept)
        elif not second_opinion.is_incomplete(self._state):
            self._second.drop_value()
        self._keep(*self._second.typed_up())
        if (why := self._second.lost()) is not None:
            self._fault("second_ear_lost", str(why))

    def _time(self, leaf: Subject) -> None:
        """Listens for one timed cycle; marks softer than the voice are ignored."""
        count = len(MOMENTS) * (2 if leaf is Subject.BOTH_LEAVES else 1)
        self._timed_leaf = leaf
        if (run := self._ears.time(count, VOICE_SHARE * self._voice_rms)) is not None:
            self._timed(run)

    def _timed(self, run: CycleRun) -> None:
        """Stores a timed run, and answers it."""
        leaf, self._timed_leaf = self._timed_leaf, None
        assert leaf is not None, "a run that nobody asked for"
        kept_clip, faults = self._sounds.of_run(run.samples)
        clip, clip_sha256 = kept_clip or (None, None)
        timed = event_of(leaf, run, clip, clip_sha256)
        now_s = self._clock.rising_s() if run.end_s is None else run.end_s
        self._last_heard_s = now_s
        self._follow(state_machine.answer(self._state, heard_of(timed), now_s), timed, *faults)
        self._tell_faults(faults)

    def _measure(self, asked: MeasureLeaf) -> None:
        """Reads the newest log of rotation rates put into the visit's folder."""
        progress = self.progress
        measured = measure_newest(
            self._journal.folder, asked.leaf, progress.job, progress.logs, asked.open_angle_deg
        )
        now_s = self._state.quiet_since_s
        self._follow(state_machine.answer(self._state, measured, now_s), measured)

    def _pause(self) -> None:
        """Treats the gap between two typed lines as a pause."""
        if self._state.advice:
            now_s = self._state.quiet_since_s + state_machine.PAUSE_AFTER_S
            self._follow(state_machine.answer(self._state, Silence(), now_s))

    def _sound(self, sound: Sound) -> None:
        with suppress(HandsfreeError):
            self._mouth.signal(sound)

    def _notice_silence(self, utterance: Utterance) -> None:
        """Tells the conversation about a long silence before this utterance."""
        if self._ears.reports_silence or utterance.start_s is None or self._last_heard_s is None:
            return
        if utterance.start_s - self._last_heard_s >= state_machine.PAUSE_AFTER_S:
            self._follow(state_machine.answer(self._state, Silence(), utterance.start_s))

    def _follow(self, step: tuple[State, tuple[Reply, ...]], *first: ev.Body) -> None:
        """Carries out a turn: stores all its events at once, then speaks."""
        self._state, replies = step
        kept = [reply for reply in replies if isinstance(reply, Keep)]
        self._keep(
            *(reply.body for reply in kept if reply.earlier),
            *first,
            *(reply.body for reply in kept if not reply.earlier),
        )
        cut = False
        for reply in replies:
            match reply:
                case Say():
                    # After an interruption the person is heard first, and the rest is only written.
                    # Warnings are always spoken to the end.
                    whole = reply.role in _WHOLE
                    cut = self._say(reply, aloud=whole or not cut) or cut
                case Tone(sound=sound) if self._tones:
                    self._sound(sound)
                case Voice(change=change):
                    self._mouth.adjust(change)
                case TimeCycle(leaf=leaf):
                    self._time(leaf)
                case MeasureLeaf() as asked:
                    self._measure(asked)

    def _keep(self, *bodies: ev.Body) -> None:
        if bodies:
            bodies_and_faults = (*bodies, *self._times.look())
            try:
                events = self._journal.append_all(bodies_and_faults, self._clock.utc())
            except JournalError as error:
                self._tell_unkept(error)
                raise
            for event in events:
                self._watch(event)

    def _tell_unkept(self, error: JournalError) -> None:
        """Says aloud that nothing more is stored, because a technician on a ladder cannot read the
        terminal.
        """
        lost = isinstance(error, JournalGone)
        text = self._state.words.say("journal_gone" if lost else "journal_unwritten")
        with suppress(HandsfreeError):
            self._mouth.say(text, whole=True)

    def _say(self, reply: Say, *, aloud: bool = True) -> bool:
        """Speaks and stores a text; True if somebody interrupted it."""
        # Text that is not spoken is still written. So is text that the voice fails to speak, which
        # must not end the visit: the observer prints it.
        spoken, trouble = Spoken(0.0, aloud=False), None
        if reply.aloud and aloud:
            try:
                spoken = self._mouth.say(reply.text, whole=reply.role in _WHOLE)
            except HandsfreeError as error:
                trouble = error
        self._keep(
            ev.Said(
                text=reply.text,
                role=reply.role,
                aloud=spoken.aloud,
                seconds=_hundredths(spoken.seconds),
            )
        )
        if reply.aloud and aloud:
            self._record_mute(trouble)
        self._spoken_s += spoken.seconds
        return spoken.cut

    def _record_mute(self, trouble: HandsfreeError | None) -> None:
        """Records the loss of the voice or the loudspeaker, and its return."""
        if trouble is not None and self._mute is None:
            self._mute = "loudspeaker" if isinstance(trouble, SoundError) else "voice"
            self._keep(ev.Fault(what=_GONE[self._mute], detail=str(trouble)))
        elif trouble is None and self._mute is not None:
            self._keep(ev.Fault(what=_BACK[self._mute]))
            self._mute = None

    def _fault(self, what: ev.FaultKind, detail: str = "", lost_s: float | None = None) -> None:
        """Stores a fault or its end, and says so."""
        lost = None if lost_s is None else _hundredths(lost_s)
        fault = ev.Fault(what=what, detail=detail, lost_s=lost)
        self._keep(fault)
        self._tell_faults((fault,))

    def _tell_faults(self, faults: tuple[ev.Fault, ...]) -> None:
        for fault in faults:
            self._say(Say(text=self._state.words.say(f"fault_{fault.what}"), role="status"))


def _levels_of(utterance: Utterance) -> tuple[float, float] | None:
    """Level of the voice (RMS, 0 to 1) and signal-to-noise ratio (dB); None for a typed line."""
    if utterance.measured is not None:
        return utterance.measured.voice_rms, utterance.measured.snr_db
    if utterance.samples is None:
        return None
    from handsfree.audio.levels import snr_db, voice_rms  # not available on a phone

    return voice_rms(utterance.samples), snr_db(utterance.samples)


def _hundredths(seconds: float) -> Decimal:
    return Decimal(f"{seconds:.2f}")
