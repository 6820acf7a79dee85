"""The runs of the clock in a visit: marks, times and doubts of each, and a picture of its sound."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Literal

import soundfile

from handsfree.errors import SoundError
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.reader import CLIPS
from handsfree.timed_run import heard_of
from handsfree.timing.cycle import Cycle, Moment, cycle_of
from handsfree.timing.wave_svg import Line, wave_svg

Outcome = Literal["cancelled", "in doubt", "not filed", "filed", "withdrawn"]
"""What became of a run: called off; not whole; whole and not affirmed; its readings stand; they
were filed and none of them stands any more."""


class RunMark(Record):
    """A mark: seconds from the start of the clip, what it marks, and how well it is known.

    ``moment`` is None where it could not be told; ``word`` where no word named it.
    ``doubt_s`` is the standard uncertainty of the mark without the person, ``snr_db`` its
    level over the noise.
    """

    at_s: float
    moment: Moment | None
    word: str | None
    doubt_s: float
    snr_db: float
    clipped: bool


class RunTime(Record):
    """One time of a run, in s, with its standard uncertainties: of the marks, and in all.

    ``reading_id`` is the reading that was filed from it; None where there is none.
    """

    quantity: Quantity
    seconds: float
    marks_s: float
    doubt_s: float
    reading_id: str | None = None


class TimedRun(Record):
    """One run of the clock. ``seq`` and ``at`` are those of its event in the journal.

    ``nth`` counts the runs of this leaf from 1, whatever became of them. ``run`` and
    ``attempt`` are the highest numbers that its readings were filed under; None where
    nothing was. ``problems`` says in words what is wrong with the marks.
    """

    seq: int
    at: str
    leaf: Subject
    nth: int
    outcome: Outcome
    marks: tuple[RunMark, ...]
    times: tuple[RunTime, ...]
    problems: tuple[str, ...] = ()
    run: int | None = None
    attempt: int | None = None
    clip: str | None = None

    @property
    def cancelled(self) -> bool:
        """Whether it was called off."""
        return self.outcome == "cancelled"


def timed_runs(events: Iterable[ev.Event]) -> tuple[TimedRun, ...]:
    """Every run of the clock in a journal's events, in their order."""
    timed: list[tuple[ev.Event, ev.CycleTimed]] = []
    filed: dict[str, list[Reading]] = {}
    gone: set[str] = set()
    for event in events:
        match event.body:
            case ev.CycleTimed() as body:
                timed.append((event, body))
            case ev.ReadingAccepted(reading=reading) if reading.taken is Taken.BY_EAR:
                filed.setdefault(reading.clip or "", []).append(reading)
            case ev.ReadingWithdrawn(reading_id=gone_id) | office.ReadingStruck(reading_id=gone_id):
                gone.add(gone_id)
    counts: dict[Subject, int] = {}
    runs = []
    for event, body in timed:
        counts[body.leaf] = counts.get(body.leaf, 0) + 1
        readings = filed.get(body.clip, []) if body.clip else []
        runs.append(_run(event, body, counts[body.leaf], readings, gone))
    return tuple(runs)


def run_svg(folder: Path, run: TimedRun) -> str | None:
    """The sound of a run with its marks as SVG, under 15 kB; None where no clip was kept.

    Raises SoundError when the clip is not there or no sound.
    """
    if run.clip is None:
        return None
    path = folder / CLIPS / Path(run.clip).name
    try:
        samples, _ = soundfile.read(path, dtype="int16")
    except (OSError, soundfile.SoundFileError) as error:
        raise SoundError(
            "the sound of a run cannot be read",
            file=path,
            way_out="verify the visit; put the file back from a copy",
        ) from error
    lines = tuple(
        Line(at_s=mark.at_s, uncertainty_s=mark.doubt_s, name=mark.moment) for mark in run.marks
    )
    return wave_svg(samples, lines)


def _run(
    event: ev.Event, body: ev.CycleTimed, nth: int, readings: list[Reading], gone: set[str]
) -> TimedRun:
    heard = heard_of(body)
    cycle = cycle_of(heard.marks, heard.labels)
    placed = {each.mark: each for each in cycle.placed}
    ids = {reading.quantity: reading.id for reading in readings}
    return TimedRun(
        seq=event.seq,
        at=event.at,
        leaf=body.leaf,
        nth=nth,
        outcome=_outcome(body, cycle, readings, gone),
        marks=tuple(
            RunMark(
                at_s=round(mark.at_s, 4),
                moment=placed[mark].moment if mark in placed else None,
                word=placed[mark].word if mark in placed else None,
                doubt_s=mark.uncertainty_s,
                snr_db=mark.snr_db,
                clipped=mark.clipped,
            )
            for mark in heard.marks
        ),
        times=tuple(
            RunTime(
                quantity=each.quantity,
                seconds=round(each.seconds, 3),
                marks_s=round(each.marks_s, 4),
                doubt_s=round(each.uncertainty_s, 4),
                reading_id=ids.get(each.quantity),
            )
            for each in cycle.intervals
        ),
        problems=() if body.cancelled else tuple(str(problem) for problem in cycle.problems),
        run=max((reading.run for reading in readings), default=None),
        attempt=max((reading.attempt for reading in readings), default=None),
        clip=body.clip,
    )


def _outcome(body: ev.CycleTimed, cycle: Cycle, readings: list[Reading], gone: set[str]) -> Outcome:
    if body.cancelled:
        return "cancelled"
    if readings:
        return "withdrawn" if all(reading.id in gone for reading in readings) else "filed"
    return "not filed" if cycle.whole else "in doubt"
