"""Converts a timed run between the records of ears, conversation and journal."""

from __future__ import annotations

from decimal import Decimal

from handsfree.dialogue.state import CycleHeard
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.recognition.cycle_run import CycleRun
from handsfree.visit_record.cycles import labels_of, marks_of


def event_of(
    leaf: Subject, run: CycleRun, clip: str | None, clip_sha256: str | None
) -> ev.CycleTimed:
    """Converts a timed run to the journal's event."""
    return ev.CycleTimed(
        leaf=leaf,
        marks=tuple(
            ev.TimedMark(
                sample=mark.sample,
                end_sample=mark.end_sample,
                snr_db=_decimal(mark.snr_db, 1),
                level_db=_decimal(mark.level_db, 1),
                uncertainty_s=_decimal(mark.uncertainty_s, 4),
                clipped=mark.clipped,
                spoken=mark.spoken,
            )
            for mark in run.marks
        ),
        words=tuple(
            ev.MarkWord(word=label.word, start_s=_decimal(label.start_s, 3), leaf=label.leaf)
            for label in run.labels
        ),
        cancelled=run.cancelled,
        start_s=None if run.start_s is None else _decimal(run.start_s, 2),
        end_s=None if run.end_s is None else _decimal(run.end_s, 2),
        clip=clip,
        clip_sha256=clip_sha256,
    )


def heard_of(timed: ev.CycleTimed) -> CycleHeard:
    """Converts the journal's event to the conversation's input, live or on resume."""
    return CycleHeard(
        marks=marks_of(timed),
        labels=labels_of(timed),
        clip=timed.clip,
        cancelled=timed.cancelled,
    )


def _decimal(value: float, places: int) -> Decimal:
    return Decimal(f"{value:.{places}f}")
