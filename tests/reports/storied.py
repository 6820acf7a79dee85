"""A visit with something of everything, before and after its review in the office.

python -m tests.reports.storied FOLDER
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from handsfree.checks.evaluate import changed
from handsfree.checks.limits import load_limits
from handsfree.job.unit import Measure, Unit
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.visit_record.load import load_record
from handsfree.visit_record.progress import fold_job, job_of

from .hour import BEGAN, NOTES, hour_visit, plain_lines

NEXT_DAY = datetime.fromtimestamp(BEGAN, UTC) + timedelta(days=1)


def storied_visit(folder: Path, *, reviewed: bool = False) -> Path:
    """Makes a visit with a failing force, a skipped step, a note, chatter and a fault; optionally
    ``reviewed``.
    """
    lines = plain_lines()
    _after(lines, "eighty four inches", "affirm", "note", NOTES[0])
    _after(lines, "what is the limit", "no idea ask at the desk")
    at = lines.index("twelve point five pounds")
    lines[at : at + 2] = [*("seventeen pounds", "affirm") * 3, "next"]
    at = lines.index("ten cycles")
    lines[at : at + 4] = ["skip", "the guard wants the door open now", "in order", "affirm"]
    lines.insert(at + 4, "off and tagged")  # the force, before the hand-over
    lines += ["done later"] * 6
    hour_visit(folder, minutes=38, lines=lines)
    with Journal.open(folder, NEXT_DAY) as journal:
        journal.append(
            ev.Fault(
                what="sound_overflowed",
                detail="the machine was busy, and a piece of sound was lost",
                lost_s=Decimal("0.42"),
            ),
            NEXT_DAY - timedelta(hours=23, minutes=20),
        )
    if reviewed:
        _review(folder)
    return folder


def _after(lines: list[str], *words: str) -> None:
    """Inserts the other words after the first occurrence of the first one."""
    known = 2 if words[1] == "affirm" else 1
    at = next(n for n in range(len(lines)) if tuple(lines[n : n + known]) == words[:known])
    lines[at + known : at + known] = words[known:]


def _review(folder: Path) -> None:
    """Two people of the office at work: corrections, decisions, a sign-off."""
    seen = load_record(folder)
    said = [i for i in seen.standing if i.now.taken == "said"]
    wide = next(i for i in said if i.now.quantity == "closing_time")
    new = Measure(value=wide.now.value - Decimal("0.1"), unit=Unit.SECOND)
    missed = next(u for u in seen.utterances if not u.understood and not u.kept_as)
    note = seen.notes[0]
    acts: list[ev.Body] = [
        office.ReadingConfirmed(reading_id=seen.by_doubt[0].id, by="A. Okoro"),
        office.ReadingAmended(
            reading_id=wide.id,
            old=wide.now.measure,
            new=new,
            by="A. Okoro",
            why="the recording says four point five",
        ),
        office.MeaningAmended(
            seq=missed.seq, old="", new="somebody asks for the way", by="A. Okoro", why="listened"
        ),
        office.NoteAmended(
            seq=note.seq,
            old=note.text,
            new="Play at the pivot of the left arm; a washer is under it. New pivot next time.",
            by="J. Lind",
            why="listened twice",
        ),
    ]
    acts += [
        office.OpenDecided(
            key=matter.key, decision="return_visit", by="J. Lind", why="planned for next week"
        )
        for matter in seen.open_items
    ]
    job = job_of(read(folder))
    limits = load_limits("a156.19")
    with Journal.open(folder, NEXT_DAY) as journal:
        for nth, act in enumerate(acts):
            before, job = job, fold_job(job, act) or job
            found = changed(before, job, limits)
            bodies = [act, ev.Judged(findings=found)] if found else [act]
            journal.append_all(bodies, NEXT_DAY + timedelta(minutes=nth))
        signed = office.SignedOff(by="J. Lind", head=journal.head)
        journal.append(signed, NEXT_DAY + timedelta(hours=1))


if __name__ == "__main__":
    print(storied_visit(Path(sys.argv[1]), reviewed=True))
