"""The summary of a visit: readings, passes and failures, open items."""

from __future__ import annotations

from collections.abc import Iterable

from handsfree.checks.headline import Tally, headline, tally
from handsfree.checks.leaf_weight import weight_of
from handsfree.checks.scope import out_of_scope
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.job import Fact
from handsfree.job.opening import Leaf
from handsfree.job.quantity import QUANTITIES
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal.plain_words import step_words, words_of
from handsfree.language.wording import wording
from handsfree.reports.visit_fact_rows import calibration_caveats, visit_fact_lines
from handsfree.visit_record.controller_set_up import AS_FOUND, code_line, set_up_line
from handsfree.visit_record.cycles import TimedRun
from handsfree.visit_record.door_fault import DoorFault
from handsfree.visit_record.open_items import LeftOpen, Skipped
from handsfree.visit_record.reading_story import MeasuredQuantity
from handsfree.visit_record.visit_record import VisitRecord, record_of


class Summary(Record):
    """The result of a visit, with the office's corrections.

    ``verdict`` is one line with the counts of ``tally``. ``leaves`` gives the width of each leaf,
    and the weight that its limits use with its source. ``ended`` is the time of the visit's own
    last event; ``amended`` and ``struck`` count the readings changed by the office. ``on_paper``
    holds the visit facts, ``calibration`` the caveats of gauges.
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
    lines: tuple[MeasuredQuantity, ...]
    runs: tuple[TimedRun, ...]
    facts: tuple[Fact, ...]
    not_in_order: tuple[str, ...]
    not_as_recommended: tuple[str, ...]
    cautions: tuple[str, ...]
    skipped: tuple[Skipped, ...]
    left_open: tuple[LeftOpen, ...]
    door_faults: tuple[DoorFault, ...]
    old_settings: tuple[str, ...]
    set_up: tuple[str, ...]
    codes: tuple[str, ...]
    notes: tuple[str, ...]
    on_paper: tuple[str, ...] = ()
    calibration: tuple[str, ...] = ()
    photos: int = 0
    withdrawn: int
    amended: int = 0
    struck: int = 0
    utterances: int
    not_understood: int
    limits: str
    procedure: str
    model: str


def summarize(events: Iterable[ev.Event]) -> Summary:
    """The summary of a journal's events.

    Raises JournalError if they contain no opened visit.
    """
    return summary_of(record_of(events))


def summary_of(visit: VisitRecord) -> Summary:
    """The summary of a visit."""
    found = findings_as_left(visit)
    defects = _defects(visit)
    counted = _tally(visit, found, defects)
    begun = "" if visit.complete else "The visit is not finished. "
    failed = [each for each in found if each.verdict is Verdict.FAIL]
    return Summary(
        reference=visit.sheet.reference,
        site=visit.sheet.site,
        opening=visit.opening.name,
        technician=visit.sheet.technician,
        began=visit.began,
        ended=visit.ended,
        complete=visit.complete,
        verdict=f"{begun}{headline(wording(), counted)}",
        tally=counted,
        leaves=tuple(_leaf(leaf) for leaf in visit.opening.leaves),
        lines=visit.quantities,
        runs=visit.runs,
        facts=visit.job.facts,
        not_in_order=(*(_name(f) for f in failed if f.binding is Binding.REQUIREMENT), *defects),
        not_as_recommended=tuple(_name(f) for f in failed if f.binding is Binding.RECOMMENDATION),
        cautions=visit.answers,
        skipped=visit.skipped,
        left_open=visit.left_open,
        door_faults=visit.door_faults,
        old_settings=tuple(set_up_line(r) for r in visit.set_up if r.entry.startswith(AS_FOUND)),
        set_up=tuple(set_up_line(r) for r in visit.set_up if not r.entry.startswith(AS_FOUND)),
        codes=tuple(map(code_line, visit.codes)),
        notes=tuple(note.now for note in visit.notes),
        on_paper=visit_fact_lines(visit),
        calibration=calibration_caveats(visit),
        photos=len(visit.photos),
        withdrawn=visit.withdrawn,
        amended=visit.amended,
        struck=visit.struck,
        utterances=len(visit.utterances),
        not_understood=sum(not each.understood for each in visit.utterances),
        limits=visit.opened.limits,
        procedure=visit.opened.procedure,
        model=visit.opened.model,
    )


def _defects(visit: VisitRecord) -> tuple[str, ...]:
    """Observations that are not OK, and other open faults."""
    seen = {
        f"{fact.subject}/{fact.name}": f"{fact.subject}: {words_of(fact.name)}"
        for fact in visit.job.facts
        if fact.value == "not_in_order"
    }
    judged = {f"{found.subject}/{found.rule}" for found in findings_as_left(visit)}
    found = {
        life.key: life.what for life in visit.door_faults if life.open and life.key not in judged
    }
    return tuple({**seen, **found}.values())


def findings_as_left(visit: VisitRecord) -> tuple[Finding, ...]:
    """The current findings on the last attempts."""
    return tuple(found for measured in visit.quantities for found in measured.findings)


def _leaf(leaf: Leaf) -> str:
    """'left leaf: 36 in wide, 150 pounds from the label'."""
    weight = weight_of(leaf)
    known = [f"{leaf.width} wide"] if leaf.width is not None else ["width not known"]
    known.append(weight.words(wording()) if weight is not None else "weight not known")
    return f"{leaf.name} leaf: {', '.join(known)}"


def _name(finding: Finding) -> str:
    what = QUANTITIES[finding.quantity].spoken if finding.quantity else finding.rule
    rule = words_of(finding.rule)
    return f"{finding.subject}: {what}" if rule == what else f"{finding.subject}: {what}, {rule}"


def _tally(visit: VisitRecord, found: tuple[Finding, ...], defects: tuple[str, ...]) -> Tally:
    """The count of the visit's checks; a door outside the standard's scope is not judged."""
    words = {item.key: item.word for item in visit.open_items if item.kind == "skipped"}
    stays = {life.key for life in visit.door_faults if life.open}
    counted = tally(
        found,
        _name,
        in_order=sum(
            fact.value == "in_order" and f"{fact.subject}/{fact.name}" not in stays
            for fact in visit.job.facts
        ),
        defects=defects,
        not_checked=tuple(
            step_words(one.key) for one in visit.skipped if words[one.key] != "not_applicable"
        ),
    )
    why = out_of_scope(visit.opening)
    return counted if why is None else counted.model_copy(update={"outside": wording().say(why)})
