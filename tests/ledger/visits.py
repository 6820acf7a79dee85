"""Small complete visits, made quickly: real journal, real findings, no sound."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from handsfree.checks.evaluate import changed
from handsfree.checks.limits import load_limits
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Leaf, Opening, Side, Swing
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Measure, Unit
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.visit_record.progress import fold_job, job_of

BEGAN = datetime(2100, 3, 4, 9, 15, tzinfo=UTC)
IN_ORDER = (("opening_time", "6.20"), ("closing_time", "6.4"), ("closing_force", "9.5"))
FAILING = (("opening_time", "2.0"), ("closing_time", "6.4"), ("closing_force", "17"))


def small_visit(
    folder: Path,
    *,
    site: str = "Harbour Hall",
    name: str = "main entrance",
    reference: str = "HH-1",
    technician: str = "R. Almeda",
    began: datetime = BEGAN,
    readings: tuple[tuple[str, str], ...] = IN_ORDER,
    notes: tuple[str, ...] = (),
    closed: bool = True,
    procedure: str = "yearly-service",
    ears: str = "typed",
    weight: str | None = "150",
) -> Path:
    """A visit to a single leaf with these readings; times in s, forces in lbf, weight in lb."""
    width, height = (Measure(value=Decimal(size), unit=Unit.INCH) for size in ("36", "84"))
    heavy = Measure(value=Decimal(weight), unit=Unit.POUND) if weight else None
    leaf = Leaf(name=Side.LEFT, hinge_side=Side.LEFT, width=width, height=height, weight=heavy)
    sheet = Sheet(
        reference=reference,
        site=site,
        technician=technician,
        opening=Opening(
            name=name, seen_from="the street", swing=Swing.SINGLE, leaves=(leaf,), motors=()
        ),
    )
    limits = load_limits(sheet.limits)
    opened = ev.VisitOpened(
        sheet=sheet,
        procedure=procedure,
        procedure_sha256="0" * 64,
        limits=limits.name,
        limits_sha256=limits.sha256,
        model="none",
        version="0",
        ears=ears,
        mouth="silent",
    )
    job = Job.open(sheet)
    with Journal.create(folder) as journal:
        journal.append(opened, began)
        for nth, (quantity, value) in enumerate(readings, start=1):
            what = Quantity(quantity)
            own = what is Quantity.NEXT_SERVICE
            reading = Reading(
                id=f"r{nth}",
                quantity=what,
                subject=Subject.OPENING if own else Subject.LEFT_LEAF,
                value=Decimal(value),
                unit=QUANTITIES[what].unit,
                taken=Taken.SAID,
            )
            before, job = job, job.with_reading(reading)
            found = changed(before, job, limits)
            bodies: list[ev.Body] = [ev.ReadingAccepted(reading=reading)]
            bodies += [ev.Judged(findings=found)] if found else []
            journal.append_all(bodies, began + timedelta(minutes=nth))
        for note in notes:
            journal.append(ev.NoteKept(step_key=None, text=note, clip=None), began)
        if closed:
            journal.append(ev.VisitClosed(), began + timedelta(minutes=40))
    return folder


def amend(folder: Path, reading_id: str, value: str) -> None:
    """Applies an office correction to a reading, which is judged again."""
    job = job_of(read(folder))
    old = next(reading for reading in job.readings if reading.id == reading_id).measure
    new = Measure(value=Decimal(value), unit=old.unit)
    act = office.ReadingAmended(
        reading_id=reading_id, old=old, new=new, by="A. Okoro", why="listened"
    )
    after = fold_job(job, act) or job
    found = changed(job, after, load_limits("a156.19"))
    with Journal.open(folder, BEGAN) as journal:
        journal.append_all([act, ev.Judged(findings=found)], BEGAN + timedelta(days=1))


def sign(folder: Path) -> None:
    """Signs the visit off in its present state."""
    with Journal.open(folder, BEGAN) as journal:
        signed = office.SignedOff(by="J. Lind", head=journal.head)
        journal.append(signed, BEGAN + timedelta(days=2))
