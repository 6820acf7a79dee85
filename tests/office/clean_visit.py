"""A visit with 46 spoken readings, each well within its limits and with its own short clip."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np
import soundfile

from handsfree.checks.evaluate import changed
from handsfree.checks.limits import load_limits
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.journal import events as ev
from handsfree.journal.reader import CLIPS, read
from handsfree.journal.writer import Journal
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.visit_record.progress import job_of

from ..ledger.visits import BEGAN, IN_ORDER, small_visit

READINGS = 46


def clean_visit(folder: Path) -> Path:
    """Makes the visit, always the same: 15 or 16 runs of each quantity."""
    small_visit(folder, readings=(), closed=False)
    (folder / CLIPS).mkdir(exist_ok=True)
    tone = np.sin(np.arange(SAMPLE_RATE_HZ // 4) / 8) * 6000
    limits, job = load_limits("a156.19"), job_of(read(folder))
    with Journal.open(folder, BEGAN) as journal:
        for nth in range(READINGS):
            quantity, value = IN_ORDER[nth % 3]
            clip = f"{journal.next_seq:06}.flac"
            soundfile.write(folder / CLIPS / clip, tone.astype(np.int16), SAMPLE_RATE_HZ)
            sha256 = hashlib.sha256((folder / CLIPS / clip).read_bytes()).hexdigest()
            said = {"text": f"{quantity} {value}", "meaning": {"kind": "affirm"}}
            heard = ev.Heard(**said, clip=clip, clip_sha256=sha256)
            reading = Reading(
                id=f"r{nth + 1}",
                quantity=Quantity(quantity),
                subject=Subject.LEFT_LEAF,
                value=Decimal(value),
                unit=QUANTITIES[Quantity(quantity)].unit,
                taken=Taken.SAID,
                run=nth // 3 + 1,
                clip=clip,
            )
            before, job = job, job.with_reading(reading)
            found = changed(before, job, limits)
            bodies = [heard, ev.ReadingAccepted(reading=reading), ev.Judged(findings=found)]
            journal.append_all(bodies, BEGAN + timedelta(minutes=nth))
        journal.append(ev.VisitClosed(), BEGAN + timedelta(minutes=50))
    return folder
