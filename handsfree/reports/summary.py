"""A visit in short: what was read, what passed, what did not, what stayed open."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import get_args

from handsfree.checks.headline import Tally, headline, tally
from handsfree.checks.leaf_weight import weight_of
from handsfree.checks.scope import out_of_scope
from handsfree.errors import JournalError
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.job import Fact, Job
from handsfree.job.opening import Leaf
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.language.wording import wording
from handsfree.reports.current_findings import InForce, Key
from handsfree.reports.office_text import step_words
from handsfree.reports.timed_runs import TimedRun, timed_runs

_OFFICE = get_args(office.OfficeBody)


class Line(Record):
    """One measured quantity: every attempt as found first and as left last."""

    subject: Subject
    quantity: Quantity
    unit: Unit
    as_found: tuple[Decimal, ...]
    as_left: tuple[Decimal, ...]
    attempts: int
    findings: tuple[Finding, ...] = ()


class Skipped(Record):
    """A step that was skipped, with the reason as it was heard."""

    key: str
    reason: str | None


class LeftOpen(Record):
    """What was open when the visit closed, with the word on it: 'done_later'."""

    what: str
    word: str


class Summary(Record):
    """What a visit came to, with the office's corrections. ``verdict`` is one line that counts.

    ``tally`` is what it counts, ``leaves`` say how wide each leaf is, which weight its limits
    rest on and where that comes from. ``ended`` is the time of the visit's own last event;
    ``amended`` and ``struck`` count what the office did to readings.
    """

    reference: str
    site: str
    opening: str
    technician: str
    began: str
    ended: str
    complete: bool
    verdict: str
    tally: Tally
    leaves: tuple[str, ...]
    lines: tuple[Line, ...]
    runs: tuple[TimedRun, ...]
    facts: tuple[Fact, ...]
    not_in_order: tuple[str, ...]
    not_as_recommended: tuple[str, ...]
    cautions: tuple[str, ...]
    skipped: tuple[Skipped, ...]
    left_open: tuple[LeftOpen, ...]
    notes: tuple[str, ...]
    withdrawn: int
    amended: int = 0
    struck: int = 0
    utterances: int
    not_understood: int
    limits: str
    procedure: str
    model: str


def summarize(events: Iterable[ev.Event]) -> Summary:
    """Folds a journal's events into their summary.

    Raises JournalError when they hold no opened visit.
    """
    events = tuple(events)
    opened: ev.VisitOpened | None = None
    in_force = InForce()
    outcomes: dict[str, ev.StepEnded] = {}
    cautions: list[str] = []
    given: dict[str, str] = {}
    notes: dict[int, str] = {}
    settled: dict[str, str] = {}
    heard = missed = withdrawn = struck = amended = 0
    complete = False
    for event in events:
        body = event.body
        in_force.take(body)
        match body:
            case ev.VisitOpened():
                opened = body
            case ev.StepEntered(key=key):
                outcomes.pop(key, None)
                settled.pop(key, None)
            case ev.OpenSettled(key=key, word=word):
                settled[key] = word
            case ev.StepEnded(key=key):
                outcomes[key] = body
            case ev.CautionGiven(key=key, text=text):
                given[key] = text
            case ev.CautionAcknowledged(key=key, word=word):
                cautions.append(f"{given.get(key, key)} Answered: {word}.")
            case ev.NoteKept(text=text):
                notes[event.seq] = text
            case ev.ReadingWithdrawn():
                withdrawn += 1
            case office.ReadingStruck():
                struck += 1
            case office.ReadingAmended():
                amended += 1
            case office.NoteAmended(seq=seq, new=new) if seq in notes:
                notes[seq] = new
            case ev.Heard(meaning=meaning):
                heard += 1
                missed += meaning is None
            case ev.VisitClosed():
                complete = True
    if opened is None:
        raise JournalError("the journal holds no opened visit")
    job = in_force.job(opened.sheet)
    lines = tuple(_line(in_force, key) for key in in_force.measured())
    wrong = tuple(_name(finding) for line in lines for finding in line.findings if _failed(finding))
    defects = tuple(
        f"{fact.subject}: {fact.name.replace('_', ' ')}"
        for fact in job.facts
        if fact.value == "not_in_order"
    )
    advised = tuple(
        _name(f)
        for line in lines
        for f in line.findings
        if f.verdict is Verdict.FAIL and f.binding is Binding.RECOMMENDATION
    )
    skipped = tuple(
        Skipped(key=key, reason=end.reason)
        for key, end in outcomes.items()
        if end.outcome == "skipped"
    )
    left_out = tuple(
        step_words(one.key) for one in skipped if settled.get(one.key) != "not_applicable"
    )
    counted = _tally(job, lines, defects, left_out)
    return Summary(
        reference=job.sheet.reference,
        site=job.sheet.site,
        opening=job.opening.name,
        technician=job.sheet.technician,
        began=events[0].at,
        ended=_ended(events),
        complete=complete,
        verdict=_verdict(complete, counted),
        tally=counted,
        leaves=tuple(_leaf(leaf) for leaf in job.opening.leaves),
        lines=lines,
        runs=timed_runs(events),
        facts=job.facts,
        not_in_order=(*wrong, *defects),
        not_as_recommended=advised,
        cautions=tuple(cautions),
        skipped=skipped,
        left_open=tuple(
            LeftOpen(what=key.replace("/", ": "), word=word) for key, word in settled.items()
        ),
        notes=tuple(notes.values()),
        withdrawn=withdrawn,
        amended=amended,
        struck=struck,
        utterances=heard,
        not_understood=missed,
        limits=opened.limits,
        procedure=opened.procedure,
        model=opened.model,
    )


def _leaf(leaf: Leaf) -> str:
    """'left leaf: 36 in wide, 150 pounds from the label'."""
    weight = weight_of(leaf)
    known = [f"{leaf.width} wide"] if leaf.width is not None else ["width not known"]
    known.append(weight.words(wording()) if weight is not None else "weight not known")
    return f"{leaf.name} leaf: {', '.join(known)}"


def _ended(events: tuple[ev.Event, ...]) -> str:
    """The time of the last event of the visit: neither the office's nor judged after it."""
    at, of_office = events[0].at, False
    for event in events:
        if isinstance(event.body, _OFFICE):
            of_office = True
        elif not (of_office and isinstance(event.body, ev.Judged)):
            at, of_office = event.at, False
    return at


def _line(in_force: InForce, key: Key) -> Line:
    subject, quantity = key
    mine = in_force.of(key)
    return Line(
        subject=subject,
        quantity=quantity,
        unit=mine[-1].unit,
        as_found=_values(r for r in mine if r.attempt == mine[0].attempt),
        as_left=_values(r for r in mine if r.attempt == mine[-1].attempt),
        attempts=mine[-1].attempt,
        findings=in_force.on_last_attempt(key),
    )


def _values(readings: Iterable[Reading]) -> tuple[Decimal, ...]:
    return tuple(reading.value for reading in readings)


def _failed(finding: Finding) -> bool:
    return finding.verdict is Verdict.FAIL and finding.binding is Binding.REQUIREMENT


def _name(finding: Finding) -> str:
    what = QUANTITIES[finding.quantity].spoken if finding.quantity else finding.rule
    rule = finding.rule.replace("_", " ")
    return f"{finding.subject}: {what}" if rule == what else f"{finding.subject}: {what}, {rule}"


def _tally(
    job: Job, lines: tuple[Line, ...], defects: tuple[str, ...], not_checked: tuple[str, ...]
) -> Tally:
    """What the visit came to; a door that the limits are not for is not judged at all."""
    counted = tally(
        (finding for line in lines for finding in line.findings),
        _name,
        in_order=sum(fact.value == "in_order" for fact in job.facts),
        defects=defects,
        not_checked=not_checked,
    )
    why = out_of_scope(job.opening)
    return counted if why is None else counted.model_copy(update={"outside": wording().say(why)})


def _verdict(complete: bool, counted: Tally) -> str:
    begun = "" if complete else "The visit is not finished. "
    return f"{begun}{headline(wording(), counted)}"
