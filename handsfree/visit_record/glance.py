"""A live visit at a glance: step, last question, last words, readings of the leaves."""

from __future__ import annotations

from handsfree.job.finding import Finding, Verdict, ruling
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import LEAF_SUBJECTS
from handsfree.job.record import Record
from handsfree.job.unit import Family
from handsfree.journal import events as ev
from handsfree.visit_record.kept_words import kept_as
from handsfree.visit_record.visit_record import VisitFold

# Width, height and weight have no limits, and a terminal or a phone has few lines.
_OF_THE_LEAF = (Family.LENGTH, Family.MASS)


class ReadingRow(Record):
    """The current state of a leaf's quantity: runs, limits and verdict.

    ``limits`` holds the parts of ``limit``: 'at least' or 'at most', and the value with its unit.
    """

    subject: str
    quantity: str
    values: tuple[str, ...]
    limit: str
    limits: tuple[tuple[str, str], ...] = ()
    verdict: Verdict | None


class Glance(Record):
    """A visit at a glance. ``waits`` is the last question, ``heard`` the last words."""

    step: str = ""
    waits: str = ""
    heard: str = ""
    understood: bool = True
    fault: str = ""
    rows: tuple[ReadingRow, ...] = ()


class LiveState:
    """Follows a visit's events and holds its glance."""

    def __init__(self) -> None:
        self._glance = Glance()
        self._visit = VisitFold()

    @property
    def glance(self) -> Glance:
        """The visit now."""
        return self._glance

    def apply(self, event: ev.Event) -> None:
        """Follows one event."""
        self._visit.apply(event)
        body = event.body
        update: dict[str, object] = {}
        match body:
            case ev.StepEntered(key=key):
                update["step"] = key.replace(":", ", ").replace("-", " ")
            case ev.Said(text=text, role="prompt" | "readback" | "caution" | "repair"):
                update["waits"] = text
            case ev.Heard(text=text, meaning=meaning):
                update |= {"heard": text, "understood": meaning is not None}
            case ev.Fault(what="microphone_back" | "loudspeaker_back" | "voice_back"):
                update["fault"] = ""
            case ev.Fault(what="second_ear_lost"):
                pass  # reported once; nothing waits for its return
            case ev.Fault(what=what):
                update["fault"] = what.replace("_", " ")
            case ev.ReadingAccepted() | ev.ReadingWithdrawn() | ev.Judged():
                update["rows"] = self._rows()
        if kept_as(body) is not None:
            update["understood"] = True
        self._glance = self._glance.model_copy(update=update)

    def _rows(self) -> tuple[ReadingRow, ...]:
        return tuple(
            ReadingRow(
                subject=measured.subject,
                quantity=QUANTITIES[measured.quantity].spoken,
                values=tuple(str(value) for value in measured.as_left),
                limit=", ".join(_limit(f) for f in measured.findings if f.limit is not None),
                limits=tuple(
                    (f.bound, f"{f.limit} {f.unit}".strip())
                    for f in measured.findings
                    if f.limit is not None
                ),
                verdict=ruling(measured.findings),
            )
            for measured in self._visit.readings.quantities()
            if measured.subject in LEAF_SUBJECTS
            and QUANTITIES[measured.quantity].family not in _OF_THE_LEAF
        )


def _limit(finding: Finding) -> str:
    return f"{finding.bound} {finding.limit} {finding.unit}".strip()
