"""The daily walk in progress: the same conversation as a typed visit, driven by buttons.

Each tap types the words of the visit and affirms their readback, because the button itself shows
it. So every reader of the journal sees a typed visit.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from handsfree import __version__
from handsfree.checks.limits import load_limits
from handsfree.clock import Clock, SystemClock
from handsfree.daily.buttons import Controls, controls_of
from handsfree.dialogue.questions.open_item import OpenItemQuestion
from handsfree.dialogue.state import State
from handsfree.errors import JournalError
from handsfree.job.job import Sheet
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.language.wording import Wording, wording
from handsfree.phone.ports import FedEars, ShownMouth
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure
from handsfree.recognition.port import Utterance
from handsfree.reports.next_service import DAILY
from handsfree.reports.summary import Summary, summarize
from handsfree.visit.clock_monitor import clock_set_back, last_entry_at
from handsfree.visit.resume import first_state, opening_event, state_of, unwritten_events
from handsfree.visit.session import Visit

TYPED, PAGE = "typed", "page"
"""Names of the ears and the mouth in the journal; 'handsfree resume' continues with typed lines."""
LONGEST = 500
"""Longest note or typed answer (characters)."""
_ASKED = ("prompt", "caution", "readback", "repair")


class Screen(Record):
    """A page's content: the question with its controls, and what was said before it.

    ``turn`` counts the answers, so that a page submitted twice answers once. ``step`` of ``steps``
    is the position in the walk, 0 before its first step. ``brief`` is the short form of a step's
    question.
    """

    turn: int
    step: int = 0
    steps: int = 0
    said: tuple[str, ...] = ()
    brief: str = ""
    question: str = ""
    controls: Controls = Controls()


class DailyWalk:
    """The daily walk of one door; ``new_folder`` returns the folder for a new visit.

    ``closed`` is called with the folder of a visit that has ended.
    """

    def __init__(
        self,
        sheet: Sheet,
        new_folder: Callable[[], Path],
        closed: Callable[[Path], None] = lambda folder: None,
        clock: Clock | None = None,
    ) -> None:
        self.sheet = sheet
        self.folder: Path | None = None
        self._new_folder, self._closed = new_folder, closed
        self._clock = clock or SystemClock()
        self._visit: Visit | None = None
        self._journal: Journal | None = None
        self._ears, self._mouth = FedEars(reports_silence=False), ShownMouth(aloud=False)
        self._said: list[ev.Said] = []
        self._turn = 0
        self._absent: set[str] = set()

    @property
    def words(self) -> Wording:
        """The words of the visit's language."""
        return wording(self.sheet.language)

    @property
    def open(self) -> bool:
        """True while a walk waits for an answer."""
        return self._visit is not None and not self._visit.progress.closed

    def begin(self, name: str) -> None:
        """Begins a walk by the person called ``name``. Raises HandsfreeError on failure."""
        self.close()
        self._absent.clear()
        sheet = self.sheet.model_copy(update={"technician": name})
        procedure, limits = load_procedure(DAILY, None, sheet.language), load_limits(sheet.limits)
        self.folder = self._new_folder()
        self._journal = Journal.create(self.folder)
        self._visit = self._made(self._journal, first_state(sheet, procedure, limits))
        shell = {"model": "none", "ears": TYPED, "mouth": PAGE}
        self._visit.open(opening_event(sheet, procedure, limits, **shell), "full", "every")
        self._turn += 1

    def resume(self, folder: Path) -> None:
        """Continues the walk in a folder. Raises JournalError if it is not a daily walk, or is
        closed.
        """
        self._journal = Journal.open(folder, self._clock.utc())
        self.folder, events = folder, read(folder)
        first = events[0].body if events else None
        if not isinstance(first, ev.VisitOpened) or first.procedure != DAILY:
            raise JournalError("this visit is no daily walk", file=folder)
        language = Language.load(language=first.sheet.language)
        procedure: Procedure = load_procedure(DAILY, None, first.sheet.language)
        parts = (procedure, load_limits(first.sheet.limits), language, folder)
        last_at = last_entry_at(events)
        if missing := unwritten_events(events, *parts):
            events += self._journal.append_all(missing, self._clock.utc())
        state = state_of(events, *parts)
        if state.progress.closed:
            raise JournalError(
                "this walk is closed",
                file=folder,
                way_out=f"see it with: handsfree summary {folder}",
            )
        self._visit = self._made(self._journal, state)
        resumed = ev.VisitResumed(version=__version__, ears=TYPED, mouth=PAGE)
        self._visit.reopen(resumed, *clock_set_back(last_at, self._clock.utc()))
        self._turn += 1

    def answer(self, turn: int, say: str, note: str = "", *, promised: bool = False) -> bool:
        """Takes an answer to the question of that ``turn``, with or without a note.

        Returns False and does nothing if the question was answered before, the page does not offer
        the answer, or a promise is missing. A note belongs to the answer 'not in order', or to the
        step.
        """
        if not self.open or turn != self._turn:
            return False
        controls, w = controls_of(self._state), self.words
        say, note = (" ".join(text.split())[:LONGEST] for text in (say, note))
        typed = controls.words and say
        if (say not in controls.answers and not typed) or (controls.promise and not promised):
            return False
        self._turn += 1
        wrong = say == controls.wrong
        if note and not wrong and controls.note:
            self._take(w.say("page_note"))
            self._take(note)
        if self._state.task is not None and controls.note and say == w.say("page_skip"):
            self._absent.add(self._state.task.key)
            self._take(say)
            self._take(w.say("page_not_there"))
        else:
            self._take(say)
        pending = self._state.pending
        if pending is not None and pending.reads_back:
            self._take(w.say("page_affirm"))
        if note and wrong and self.open and controls_of(self._state).free:
            self._take(note)
        self._settle_absent()
        if not self.open and self.folder is not None:
            self._release()
            self._closed(self.folder)
        return True

    def _settle_absent(self) -> None:
        """Records at the end that missing features do not apply."""
        while isinstance(asked := self._state.pending, OpenItemQuestion):
            if asked.item.key not in self._absent or not self.open:
                return
            self._absent.discard(asked.item.key)
            self._take(self.words.say("page_not_applicable"))

    def screen(self) -> Screen:
        """The page's content while a walk is open."""
        state = self._state
        task, keys = state.task, [task.key for task in state.tasks]
        last = max((n for n, said in enumerate(self._said) if said.role in _ASKED), default=-1)
        at_step = task is not None and state.pending is None
        return Screen(
            turn=self._turn,
            step=keys.index(task.key) + 1 if task is not None else 0,
            steps=len(keys),
            said=tuple(said.text for n, said in enumerate(self._said) if n != last),
            brief=task.brief if task is not None and at_step else "",
            question=self._said[last].text if last >= 0 else "",
            controls=controls_of(state),
        )

    def summary(self) -> Summary | None:
        """The result of the last finished walk; None before the first."""
        return None if self.folder is None or self.open else summarize(read(self.folder))

    def called(self, fact: str) -> str:
        """The name of a fact in the visit's language, as used in a readback."""
        assert self._visit is not None
        steps = self._visit.state.procedure.steps
        named = next((step.called for step in steps if step.fact == fact and step.called), None)
        return named or self.words.name("word", fact)

    def close(self) -> None:
        """Releases the journal; an open walk can be continued later."""
        self._release()
        self._visit = None

    def _release(self) -> None:
        if self._journal is not None:
            self._journal.close()
            self._journal = None

    @property
    def _state(self) -> State:
        assert self._visit is not None  # open
        return self._visit.state

    def _made(self, journal: Journal, state: State) -> Visit:
        self._ears, self._said = FedEars(reports_silence=False), []
        self.sheet = state.progress.job.sheet
        return Visit(
            journal,
            state,
            language=Language.load(language=self.sheet.language),
            ears=self._ears,
            mouth=self._mouth,
            clock=self._clock,
            watch=self._watch,
            tones=False,
        )

    def _take(self, line: str) -> None:
        """Types a line; what was said before it is no longer shown."""
        if not self.open:
            return
        assert self._visit is not None
        self._said = []
        self._mouth.taken()
        self._ears.feed(Utterance(line))
        self._visit.run()

    def _watch(self, event: ev.Event) -> None:
        if isinstance(event.body, ev.Said):
            self._said.append(event.body)
