"""Items that the office decides before it signs: failures, doubts, and skipped steps."""

from __future__ import annotations

from typing import Literal

from handsfree.checks.leaf_energy import CONTRADICTION
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.plain_words import step_words, words_of
from handsfree.visit_record.amendment import Amendment, amendment_of
from handsfree.visit_record.event_words import finding_words
from handsfree.visit_record.facts import Facts
from handsfree.visit_record.faults import latest_occurrence
from handsfree.visit_record.progress import Course
from handsfree.visit_record.readings import Readings


class Decision(Record):
    """The office's decision on an open item."""

    seq: int
    at: str
    by: str
    why: str
    decision: Literal["accepted", "return_visit", "not_applicable"]


_STILL = {"complaint": ": not cured", "measured": ": failed, and no reading proves it right"}


class OpenItem(Record):
    """An item that needs a decision of the office before sign-off.

    ``key`` is the key used in ``open_decided``: a step's key for a skipped step, otherwise subject
    and rule ('left leaf/opening time') or subject and fact. ``what`` is its name in plain words;
    ``word`` is the technician's decision at hand-over or at the close ('tagged_out', 'done_later'),
    and ``accepted_by`` the person who accepted it then, as heard. ``reason`` is the text after
    ``reason_amendments`` of the office; ``reason_seq`` is its event, and ``reason_typed_up`` the
    second ear's transcript.
    """

    key: str
    kind: Literal["skipped", "not OK", "too close", "not judged"]
    what: str
    reason: str | None = None
    reason_clip: str | None = None
    reason_seq: int | None = None
    reason_amendments: tuple[Amendment, ...] = ()
    reason_typed_up: str = ""
    word: str | None = None
    accepted_by: str = ""
    decision: Decision | None = None


class Skipped(Record):
    """A skipped step, with its reason as heard or as written down by the office."""

    key: str
    reason: str | None


class LeftOpen(Record):
    """An item open at the close of the visit, with the technician's decision: 'done_later'.

    ``by`` is the person who accepted it, as heard; '' for any other decision.
    """

    what: str
    word: str
    by: str = ""


class OpenItems:
    """Skipped steps and the office's decisions after the events so far.

    An item settled by an amendment is removed, whatever was decided on it. An item judged or
    observed again after the office's decision needs a new one.
    """

    def __init__(self) -> None:
        self._ended: dict[str, tuple[int, ev.StepEnded]] = {}
        self._decisions: dict[str, Decision] = {}
        self._heard = 0
        self._reason_in: dict[str, int] = {}
        self._typed_up: dict[int, str] = {}
        self._accepted_by: dict[str, str] = {}
        self._written: dict[int, tuple[Amendment, ...]] = {}

    def apply(self, event: ev.Event) -> None:
        """Follows one event."""
        match event.body:
            case ev.Heard():
                self._heard = event.seq
            case ev.TypedUp(heard=heard, text=text):
                self._typed_up[heard] = text
            case ev.StepEnded(key=key) as ended:
                self._ended[key] = (event.seq, ended)
                self._reason_in[key] = self._heard
            case ev.OpenSettled(key=key, by=by):
                self._accepted_by[key] = by or ""
            case ev.Judged(findings=findings):
                for found in findings:
                    self._decisions.pop(key_of(found), None)
            case office.NoteAmended(seq=seq) as written:
                amended = amendment_of(event, written)
                self._written[seq] = (*self._written.get(seq, ()), amended)
            case office.FactAmended(subject=subject, name=name):
                self._decisions.pop(f"{subject}/{name}", None)
            case office.OpenDecided(key=key, decision=decision, by=by, why=why):
                self._decisions[key] = Decision(
                    seq=event.seq, at=event.at, by=by, why=why, decision=decision
                )

    def skipped(self, course: Course) -> tuple[Skipped, ...]:
        """The skipped steps that were not entered again."""
        return tuple(
            Skipped(key=key, reason=self._reason(*self._ended[key]))
            for key, outcome in course.ended.items()
            if outcome == "skipped"
        )

    def items(self, readings: Readings, facts: Facts, course: Course) -> tuple[OpenItem, ...]:
        """All items to decide: not OK first, then too close to call, then skipped."""
        wrong: dict[str, OpenItem] = {}
        close: dict[str, OpenItem] = {}
        for key in readings.measured():
            for found in readings.as_left(key):
                if found.binding is not Binding.REQUIREMENT:
                    continue
                name, words = key_of(found), finding_words(found)
                if found.rule == CONTRADICTION:
                    close[name] = self._item(course, name, "not judged", found.why)
                if found.verdict is Verdict.FAIL:
                    wrong[name] = self._item(course, name, "not OK", words)
                elif found.verdict is Verdict.TOO_CLOSE:
                    close[name] = self._item(course, name, "too close", words)
        for story in facts.stories.values():
            if story.value == "not_in_order":
                name = f"{story.subject}/{story.name}"
                what = f"{story.subject}: {words_of(story.name)}, not OK"
                wrong[name] = self._item(course, name, "not OK", what)
        for life in course.faults:
            if life.open and life.key not in {*wrong, *close}:
                what = f"{life.what}{_STILL.get(life.kind, '')}"
                wrong[life.key] = self._item(course, life.key, "not OK", what)
        left = [item for name, item in close.items() if name not in wrong]
        ended = [self._ended[each.key] for each in self.skipped(course)]
        ended.sort(key=lambda each: each[0])  # in the order of the last skip
        return (*wrong.values(), *left, *(self._skipped_item(course, *each) for each in ended))

    def left_open(self, course: Course) -> tuple[LeftOpen, ...]:
        """The items settled by the technician, with the name of each fault."""
        return tuple(
            LeftOpen(
                what=_what_of(course, key),
                word=word,
                by=self._accepted_by.get(key, ""),
            )
            for key, word in course.settled.items()
        )

    def _reason(self, seq: int, ended: ev.StepEnded) -> str | None:
        written = self._written.get(seq)
        return written[-1].new if written else ended.reason

    def _skipped_item(self, course: Course, seq: int, ended: ev.StepEnded) -> OpenItem:
        return self._item(
            course,
            ended.key,
            "skipped",
            step_words(ended.key),
            reason=self._reason(seq, ended),
            reason_clip=ended.reason_clip,
            reason_seq=seq,
            reason_amendments=self._written.get(seq, ()),
            reason_typed_up=self._typed_up.get(self._reason_in[ended.key], ""),
        )

    def _item(self, course: Course, key: str, kind: str, what: str, **more: object) -> OpenItem:
        word = course.settled.get(key)
        decided = {
            "word": word,
            "accepted_by": self._accepted_by.get(key, "") if word else "",
            "decision": self._decisions.get(key),
        }
        return OpenItem.model_validate({"key": key, "kind": kind, "what": what, **decided, **more})


def _what_of(course: Course, key: str) -> str:
    """The name of a settled item: a fault, a skipped step, or a rule."""
    life = latest_occurrence(course.faults, key)
    if life is not None:
        return life.what
    return key.replace("/", ": ") if "/" in key else step_words(key)


def key_of(found: Finding) -> str:
    """The key of the open item caused by a finding: 'left leaf/opening time'."""
    return f"{found.subject}/{found.rule}"
