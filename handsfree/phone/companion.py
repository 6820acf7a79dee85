"""The visit inside the web app: the page calls it with what was heard, and gets what to show.

It runs unchanged under CPython, where the tests walk it. All arguments and results are plain text,
numbers and bytes, because they cross from JavaScript.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from handsfree import __version__
from handsfree.checks.limits import load_limits, shipped_limits
from handsfree.clock import Clock
from handsfree.data import data_folder
from handsfree.dialogue.state import State
from handsfree.errors import HandsfreeError, JobError, JournalError
from handsfree.job.job import Sheet
from handsfree.job_file.loader import parse_sheet
from handsfree.journal import events as ev
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.language.wording import ENGLISH, languages
from handsfree.phone.ports import FedEars, PageClock, ShownMouth
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.recognition.port import MeasuredSound, QuietPeriod, SourceFault, Utterance
from handsfree.reports.pack import pack, summary_file
from handsfree.reports.summary import summarize
from handsfree.reports.summary_text import summary_text
from handsfree.toml_source import file_bytes
from handsfree.visit.clock_monitor import clock_set_back
from handsfree.visit.resume import first_state, opening_event, state_of, unwritten_events
from handsfree.visit.session import Visit
from handsfree.visit_record.glance import LiveState

TYPED, MICROPHONE = "typed on a phone", "microphone of a phone"
"""Names of the ears in the journal."""


class Companion:
    """One visit in a folder; ``clock`` is the time of the page.

    Every call that takes something in answers with the screen as JSON, after the journal holds it.
    A HandsfreeError is answered as ``{"error": ...}``.
    """

    def __init__(self, folder: str, clock: Clock | None = None) -> None:
        self._folder = Path(folder)
        self._clock = clock or PageClock()
        self._live, self._language = LiveState(), ENGLISH
        self._visit: Visit | None = None
        self._journal: Journal | None = None
        self._ears = FedEars(reports_silence=False)
        self._mouth = ShownMouth(aloud=False)

    def begin(self, job: str, procedure: str, model: str = "", aloud: bool = False) -> str:
        """Begins a visit. ``job`` is the text of a job file; ``model`` names the ears' model, ''
        without a microphone.
        """
        return self._answered(lambda: self._begin(job, procedure, model, aloud=aloud))

    def resume(self, model: str = "", aloud: bool = False) -> str:
        """Continues the visit at the step where it stood."""
        return self._answered(lambda: self._resume(model, aloud=aloud))

    def take_line(self, line: str) -> str:
        """Takes a typed line, or the words of a button."""
        text = " ".join(line.split())
        return self._answered(lambda: self._take(Utterance(text)) if text else None)

    def hear(
        self, text: str, start_s: float, end_s: float, flac: bytes, voice_rms: float, snr_db: float
    ) -> str:
        """Takes recognized words with their sound (FLAC) and its levels."""
        sound = MeasuredSound(flac=bytes(flac), voice_rms=voice_rms, snr_db=snr_db)
        heard = Utterance(text, start_s=start_s, end_s=end_s, measured=sound)
        return self._answered(lambda: self._take(heard))

    def quiet(self, seconds: float) -> str:
        """Reports a silence of ``seconds``."""
        return self._answered(lambda: self._take(QuietPeriod(seconds)))

    def microphone(self, back: bool, detail: str = "") -> str:
        """Reports that the microphone was lost, or is back."""
        what = SourceFault("microphone_back" if back else "microphone_lost", detail)
        return self._answered(lambda: self._take(what))

    def packed(self) -> bytes:
        """The visit as a pack, with a summary; the office makes the report when it unpacks it."""
        return pack(self._folder, summary_file)

    def summary(self) -> str:
        """The summary of the visit so far, as plain text."""
        return summary_text(summarize(read(self._folder)))

    def close(self) -> None:
        """Releases the journal."""
        if self._journal is not None:
            self._journal.close()

    def _begin(self, job: str, procedure_name: str, model: str, *, aloud: bool) -> None:
        sheet = sheet_of(job)
        procedure = load_procedure(procedure_name, None, sheet.language)
        limits = load_limits(sheet.limits)
        self._journal = Journal.create(self._folder)
        self._visit = self._made(first_state(sheet, procedure, limits), sheet, model, aloud=aloud)
        shell = {"model": model, "ears": MICROPHONE if model else TYPED, "mouth": self._mouth.name}
        self._visit.open(opening_event(sheet, procedure, limits, **shell))

    def _resume(self, model: str, *, aloud: bool) -> None:
        self._journal = Journal.open(self._folder, self._clock.utc())
        events = read(self._folder)
        first = events[0].body if events else None
        if not isinstance(first, ev.VisitOpened):
            raise JournalError("does not begin with the opening of a visit", file=self._folder)
        last_at = events[-1].at
        language = Language.load(language=first.sheet.language)
        procedure = load_procedure(first.procedure, None, first.sheet.language)
        limits = load_limits(first.sheet.limits)
        parts = (procedure, limits, language, self._folder)
        if missing := unwritten_events(events, *parts):
            events += self._journal.append_all(missing, self._clock.utc())
        for event in events:
            self._live.apply(event)
        state = state_of(events, *parts)
        if state.progress.closed:
            return
        self._visit = self._made(state, first.sheet, model, aloud=aloud)
        ears = MICROPHONE if model else TYPED
        resumed = ev.VisitResumed(version=__version__, ears=ears, mouth=self._mouth.name)
        self._visit.reopen(resumed, *clock_set_back(last_at, self._clock.utc()))

    def _made(self, state: State, sheet: Sheet, model: str, *, aloud: bool) -> Visit:
        assert self._journal is not None
        self._ears = FedEars(reports_silence=bool(model))
        self._mouth.aloud, self._language = aloud, sheet.language
        return Visit(
            self._journal,
            state,
            language=Language.load(language=sheet.language),
            ears=self._ears,
            mouth=self._mouth,
            clock=self._clock,
            watch=self._live.apply,
            tones=False,
        )

    def _take(self, heard: Utterance | QuietPeriod | SourceFault) -> None:
        if self._visit is None:
            raise JournalError("this visit is closed", file=self._folder)
        self._ears.feed(heard)
        self._visit.run()

    def _answered(self, act: Callable[[], None]) -> str:
        try:
            act()
        except HandsfreeError as error:
            return json.dumps({"error": str(error)})
        return json.dumps(self._screen())

    def _screen(self) -> dict[str, object]:
        """What the page shows: the visit at a glance, what was said in this turn, what to touch."""
        shown: dict[str, object] = self._live.glance.model_dump(mode="json")
        shown["language"] = self._language
        shown["out"] = self._mouth.taken()
        shown["closed"] = self._visit is None or self._visit.progress.closed
        if self._visit is not None and self._visit.state.pending is None:
            shown["choices"] = choices_of(self._visit.state)
        return shown


def choices_of(state: State) -> tuple[str, ...]:
    """The answers of the step at hand that one touch may give; a caution keeps its spoken word."""
    step = None if state.task is None else state.task.step
    if step is None:
        return ()
    match step.waits:
        case "choice":
            return tuple(option.say for option in step.options)
        case "observation":
            return tuple(state.words.name("word", name) for name in ("in_order", "not_in_order"))
        case _:
            return ()


def sheet_of(job: str) -> Sheet:
    """The sheet of a job file's text. Raises JobError, also for limits that are a file: a phone
    has only the shipped sets.
    """
    sheet = parse_sheet(job, "job file")
    if sheet.limits not in shipped_limits():
        raise JobError(
            f"the limits '{sheet.limits}' are not on this phone",
            file="job file",
            way_out=f"choose one of {', '.join(shipped_limits())}",
        )
    return sheet


def start_page() -> str:
    """The content of start.json: version, the procedures of each language, an invented job."""
    demo = data_folder("audio_fixtures") / "harbour-hall.job.toml"
    return json.dumps(
        {
            "version": __version__,
            "job": file_bytes(demo).decode(),
            "procedures": {
                language: [
                    {"name": name, "title": load_procedure(name, None, language).title}
                    for name in shipped_procedures(language)
                ]
                for language in languages()
            },
        }
    )
