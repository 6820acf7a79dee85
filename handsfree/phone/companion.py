"""The visit inside the web app: the page passes in what it heard, and gets what to show.

It runs unchanged under CPython, where the tests walk it. All arguments and results are plain text,
numbers and bytes, because they cross from JavaScript.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from handsfree import __version__
from handsfree.checks.limits import load_limits
from handsfree.clock import Clock
from handsfree.dialogue.state import State
from handsfree.errors import HandsfreeError, JournalError
from handsfree.job.job import Sheet
from handsfree.journal import events as ev
from handsfree.journal.hash_chain import printable
from handsfree.journal.paper_events import PhotoKept
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.language.wording import ENGLISH, wording
from handsfree.phone.carried_job import JOB_FILES, job_of
from handsfree.phone.choices import choices_of
from handsfree.phone.page_run import cycle_run, piece_wanted
from handsfree.phone.page_second_pass import PageSecondPass, PassWanted
from handsfree.phone.photo import drawn_photo
from handsfree.phone.ports import FedEars, PageClock, ShownMouth
from handsfree.phone.screen_words import glance_in
from handsfree.phone.spoken_pieces import Pieces
from handsfree.recognition.close_calls import alternatives_of, reject_close_call
from handsfree.recognition.heard_words import CANCEL, labels_of
from handsfree.recognition.port import (
    EarEvent,
    MeasuredSound,
    QuietPeriod,
    SourceFault,
    Utterance,
)
from handsfree.reports.next_job import walk_of
from handsfree.reports.next_service import DAILY
from handsfree.reports.pack import pack, summary_file
from handsfree.reports.summary import summarize
from handsfree.reports.summary_text import summary_text
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.visit.clock_monitor import clock_set_back, last_entry_at
from handsfree.visit.photos import keep_photo
from handsfree.visit.procedure_of_visit import chosen_procedure, procedure_of_visit
from handsfree.visit.resume import first_state, opening_event, state_of, unwritten_events
from handsfree.visit.session import Visit
from handsfree.visit.understanding import understand
from handsfree.visit_record.glance import LiveState

TYPED, MICROPHONE = "typed on a phone", "microphone of a phone"
"""Names of the ears in the journal."""


class Companion:
    """One visit in a folder; ``clock`` is the time of the page.

    Every call with an input returns the screen as JSON once the input is in the journal. A
    HandsfreeError is returned as ``{"error": ...}``.
    """

    def __init__(self, folder: str, clock: Clock | None = None) -> None:
        self._folder = Path(folder)
        self._clock = clock or PageClock()
        self._live, self._language = LiveState(), ENGLISH
        self._visit: Visit | None = None
        self._journal: Journal | None = None
        self._ears = FedEars(reports_silence=False)
        self._mouth = ShownMouth(aloud=False)
        self._again = PageSecondPass(Language.load(language=self._language).parse)
        self._cancel = False  # true if the page should end the timed run

    def begin(
        self,
        job: str,
        procedure: str,
        model: str = "",
        aloud: bool = False,
        guide: str = "",
        zone: str = "",
    ) -> str:
        """Begins a visit. ``job`` is the text of a job file or of a job for the phone; ``model``
        names the ears' model, '' without a microphone; ``guide`` is the controller's, '' for none,
        and ``zone`` as in the journal ('-05:00 EST').
        """
        shell = {"model": model, "controller": guide, "zone": zone}
        return self._answered(lambda: self._begin(job, procedure, shell, aloud=aloud))

    def speak_from(self, phrases: str, language: str) -> None:
        """Names the pieces of speech that the page plays: a JSON list of their names, in order."""
        self._mouth.pieces = Pieces(json.loads(phrases), wording(language))

    def resume(self, model: str = "", aloud: bool = False) -> str:
        """Continues the visit at the step where it stopped."""
        return self._answered(lambda: self._resume(model, aloud=aloud))

    def take_line(self, line: str) -> str:
        """Takes a typed line, or the words of a button."""
        text = " ".join(line.split())
        return self._answered(lambda: self._take(Utterance(text)) if text else None)

    def hear(
        self,
        found: str,
        again: str,
        start_s: float,
        count: int,
        flac: bytes,
        voice_rms: float,
        snr_db: float,
    ) -> str:
        """Takes the alternatives of an utterance (JSON of the recognizer), with its sound (FLAC).

        ``count`` is its number of samples. ``again`` has the results of narrow grammars, by name.
        If one is missing, nothing happens, and the result names it under ``again``.
        """
        length_s = count / SAMPLE_RATE_HZ
        language = Language.load(language=self._language)
        said = reject_close_call(alternatives_of(found, length_s), language.parse)
        sound = MeasuredSound(flac=bytes(flac), voice_rms=voice_rms, snr_db=snr_db, count=count)
        end_s = start_s + length_s
        heard = Utterance(said.text, said.words, start_s=start_s, end_s=end_s, measured=sound)
        self._again.found = json.loads(again)
        if self._visit is not None:
            try:
                understand(heard, self._visit.state, language, self._again)
            except PassWanted as missing:
                return json.dumps({"again": missing.wanted})
        return self._answered(lambda: self._take(heard))

    def quiet(self, seconds: float) -> str:
        """Reports a silence of ``seconds``."""
        return self._answered(lambda: self._take(QuietPeriod(seconds)))

    def microphone(self, back: bool, detail: str = "") -> str:
        """Reports that the microphone was lost, or is back."""
        what = SourceFault("microphone_back" if back else "microphone_lost", detail)
        return self._answered(lambda: self._take(what))

    def marks(self, found: str, length_s: float, start_s: float) -> str:
        """Returns the marks named by words heard during a timed run, as JSON.

        The result has ``labels``, and ``cancel`` for the words that end the run. ``found`` is the
        recognizer's JSON for ``length_s`` seconds of sound that began ``start_s`` seconds after the
        run.
        """
        said = alternatives_of(found, length_s)[0].heard
        mark_of = Language.load(language=self._language).mark
        labels = [each.model_dump(mode="json") for each in labels_of(said, mark_of, start_s)]
        return json.dumps({"labels": labels, "cancel": mark_of(said.text) == CANCEL})

    def piece_wanted(self, run: str) -> str:
        """Names the next piece of a run that the page must decode (handsfree/phone/page_run.py)."""
        return piece_wanted(run, Language.load(language=self._language).mark)

    def timed(self, run: str, flac: bytes) -> str:
        """Takes a run that the page has timed and recognized (JSON), with its sound (FLAC)."""
        timed = cycle_run(run, bytes(flac), Language.load(language=self._language).mark)
        return self._answered(lambda: self._take(timed))

    def photo(self, content: bytes, source_sha256: str, called: str) -> str:
        """Takes a photo that the page has redrawn (JPEG) into the visit, at the current step.

        ``source_sha256`` and ``called`` belong to the original picture. A picture already taken in
        is ignored.
        """
        return self._answered(lambda: self._take_photo(bytes(content), source_sha256, called))

    def packed(self) -> bytes:
        """The visit as a pack, with a summary; the office makes the report on unpacking."""
        return pack(self._folder, summary_file)

    def summary(self) -> str:
        """The summary of the visit so far, as plain text."""
        return summary_text(summarize(read(self._folder)))

    def close(self) -> None:
        """Releases the journal."""
        if self._journal is not None:
            self._journal.close()

    def _begin(self, job: str, procedure_name: str, shell: dict[str, str], *, aloud: bool) -> None:
        carried = job_of(job)
        if procedure_name == DAILY:
            carried = carried.model_copy(update={"sheet": walk_of(carried.sheet)})
        self._folder.mkdir(parents=True, exist_ok=True)
        sheet = carried.unpacked(self._folder / JOB_FILES)
        controller = self._carried(shell["controller"])
        procedure = chosen_procedure(self._carried(procedure_name), controller, sheet.language)
        limits = load_limits(sheet.limits)
        self._journal = Journal.create(self._folder)
        model = shell["model"]
        state = first_state(sheet, procedure, limits, times_by_ear=bool(model))
        self._visit = self._made(state, sheet, model, aloud=aloud)
        shell |= {"ears": MICROPHONE if model else TYPED, "mouth": self._mouth.name}
        shell["controller"] = controller
        self._visit.open(opening_event(sheet, procedure, limits, **shell))

    def _carried(self, name: str) -> str:
        """A procedure or guide by its path if it came with the job, otherwise the name itself."""
        came = self._folder / JOB_FILES / name
        return str(came) if name and came.is_file() else name

    def _resume(self, model: str, *, aloud: bool) -> None:
        self._journal = Journal.open(self._folder, self._clock.utc())
        events = read(self._folder)
        first = events[0].body if events else None
        if not isinstance(first, ev.VisitOpened):
            raise JournalError("does not begin with the opening of a visit", file=self._folder)
        last_at = last_entry_at(events)
        language = Language.load(language=first.sheet.language)
        procedure = procedure_of_visit(first)
        limits = load_limits(first.sheet.limits)
        parts = (procedure, limits, language, self._folder)
        by_ear = bool(model)
        if missing := unwritten_events(events, *parts, times_by_ear=by_ear):
            events += self._journal.append_all(missing, self._clock.utc())
        for event in events:
            self._live.apply(event)
        state = state_of(events, *parts, times_by_ear=by_ear)
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
        language = Language.load(language=sheet.language)
        self._again = PageSecondPass(language.parse)
        return Visit(
            self._journal,
            state,
            language=language,
            ears=self._ears,
            mouth=self._mouth,
            clock=self._clock,
            watch=self._live.apply,
            tones=bool(model),
            retry=self._again,
        )

    def _take(self, heard: EarEvent) -> None:
        if self._visit is None:
            raise JournalError("this visit is closed", file=self._folder)
        self._cancel = self._ears.asked is not None and (
            isinstance(heard, Utterance)
            and Language.load(language=self._language).mark(heard.text) == CANCEL
        )
        if not self._cancel:
            self._ears.feed(heard)
            self._visit.run()

    def _take_photo(self, content: bytes, source_sha256: str, called: str) -> None:
        assert self._journal is not None
        before = {e.body.source_sha256 for e in read(self._folder) if isinstance(e.body, PhotoKept)}
        if source_sha256 in before:
            return
        task = None if self._visit is None else self._visit.state.task
        step, name = None if task is None else task.key, printable(called)[:80]
        photo, now = drawn_photo(content), self._clock.utc()
        keep_photo(self._journal, photo, source_sha256, name, step, now)

    def _answered(self, act: Callable[[], None]) -> str:
        try:
            act()
        except HandsfreeError as error:
            return json.dumps({"error": str(error)})
        return json.dumps(self._screen())

    def _screen(self) -> dict[str, object]:
        """The content of the screen: the visit at a glance, the words of this turn, the buttons."""
        place = "" if self._visit is None else self._visit.place
        shown = glance_in(self._live.glance, wording(self._language), place)
        shown["language"] = self._language
        shown["out"] = self._mouth.taken()
        shown["cancel"] = self._cancel
        asked = self._ears.asked
        shown["clock"] = None if asked is None else {"expected": asked[0], "least_rms": asked[1]}
        shown["closed"] = self._visit is None or self._visit.progress.closed
        if self._visit is not None and self._visit.state.pending is None:
            shown["choices"] = choices_of(self._visit.state)
        return shown
