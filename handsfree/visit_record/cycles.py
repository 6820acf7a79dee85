"""The timed runs of a visit: marks, times, uncertainties and outcome of each."""

from __future__ import annotations

from typing import Literal

from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.timing.cycle import Interval, Label, Moment, Problem, cycle_of
from handsfree.timing.mark import MIN_GAP_S, Mark
from handsfree.timing.pair_cycle import pair_cycle_of

Outcome = Literal["cancelled", "in doubt", "not filed", "filed", "withdrawn"]
"""Outcome of a timed run: canceled; incomplete; complete but not affirmed; its readings were
filed; they were filed and all taken back.
"""


class RunMark(Record):
    """A mark: its time from the start of the clip (s), its moment, and its uncertainty.

    ``moment`` is None if it is unknown, ``word`` if no word named it. ``doubt_s`` is the standard
    uncertainty of the mark without the person (s), ``snr_db`` its level over the noise (dB).
    ``leaf`` is None if it is unknown.
    """

    at_s: float
    leaf: Subject | None
    moment: Moment | None
    word: str | None
    doubt_s: float
    snr_db: float
    clipped: bool


class RunTime(Record):
    """A time of a run with its standard uncertainties (s): from the marks alone, and in total.

    ``reading_id`` is the reading filed from it, or None.
    """

    leaf: Subject
    quantity: Quantity
    seconds: float
    marks_s: float
    doubt_s: float
    reading_id: str | None = None


class TimedRun(Record):
    """One timed run. ``seq`` and ``at`` belong to its event in the journal.

    ``leaf`` is both leaves if they were timed in one cycle. ``nth`` counts the runs of this leaf
    from 1, whatever their outcome. ``run`` and ``attempt`` are the highest numbers of its filed
    readings, None without any. ``problems`` says in words what is wrong with the marks.
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
        """True if it was canceled."""
        return self.outcome == "cancelled"


class Cycles:
    """The timed runs in the events so far."""

    def __init__(self) -> None:
        self._timed: list[tuple[ev.Event, ev.CycleTimed]] = []
        self._filed: dict[str, list[Reading]] = {}
        self._gone: set[str] = set()

    def apply(self, event: ev.Event) -> None:
        """Follows one event."""
        match event.body:
            case ev.CycleTimed() as body:
                self._timed.append((event, body))
            case ev.ReadingAccepted(reading=reading) if reading.taken is Taken.BY_EAR:
                self._filed.setdefault(reading.clip or "", []).append(reading)
            case ev.ReadingWithdrawn(reading_id=name) | office.ReadingStruck(reading_id=name):
                self._gone.add(name)

    def runs(self) -> tuple[TimedRun, ...]:
        """Every timed run, oldest first."""
        counts: dict[Subject, int] = {}
        runs = []
        for event, body in self._timed:
            counts[body.leaf] = counts.get(body.leaf, 0) + 1
            readings = self._filed.get(body.clip, []) if body.clip else []
            runs.append(_run(event, body, counts[body.leaf], readings, self._gone))
        return tuple(runs)


def marks_of(timed: ev.CycleTimed) -> tuple[Mark, ...]:
    """The marks of a run in the stopwatch's record type."""
    return tuple(
        Mark(
            sample=mark.sample,
            end_sample=mark.end_sample,
            snr_db=float(mark.snr_db),
            level_db=float(mark.level_db),
            uncertainty_s=float(mark.uncertainty_s),
            clipped=mark.clipped,
            spoken=mark.spoken,
        )
        for mark in timed.marks
    )


def labels_of(timed: ev.CycleTimed) -> tuple[Label, ...]:
    """The words recognized in a run, in the stopwatch's record type."""
    return tuple(
        Label(word=word.word, start_s=float(word.start_s), leaf=word.leaf) for word in timed.words
    )


def _run(
    event: ev.Event, body: ev.CycleTimed, nth: int, readings: list[Reading], gone: set[str]
) -> TimedRun:
    heard, labels = marks_of(body), labels_of(body)
    if body.leaf is Subject.BOTH_LEAVES:
        pair = pair_cycle_of(heard, labels, MIN_GAP_S)
        cycles, problems = dict(pair.cycles), pair.all_problems
    else:
        cycle = cycle_of(heard, labels)
        cycles, problems = {body.leaf: cycle}, cycle.problems
    placed = {each.mark: (leaf, each) for leaf, cycle in cycles.items() for each in cycle.placed}
    ids = {(reading.subject, reading.quantity): reading.id for reading in readings}
    marks = []
    for mark in heard:
        leaf, place = placed.get(mark, (None, None))
        marks.append(
            RunMark(
                at_s=round(mark.at_s, 4),
                leaf=leaf,
                moment=place.moment if place else None,
                word=place.word if place else None,
                doubt_s=mark.uncertainty_s,
                snr_db=mark.snr_db,
                clipped=mark.clipped,
            )
        )
    return TimedRun(
        seq=event.seq,
        at=event.at,
        leaf=body.leaf,
        nth=nth,
        outcome=_outcome(body, problems, readings, gone),
        marks=tuple(marks),
        times=tuple(_time(leaf, each, ids) for leaf, c in cycles.items() for each in c.intervals),
        problems=() if body.cancelled else tuple(str(problem) for problem in problems),
        run=max((reading.run for reading in readings), default=None),
        attempt=max((reading.attempt for reading in readings), default=None),
        clip=body.clip,
    )


def _time(leaf: Subject, taken: Interval, ids: dict[tuple[Subject, Quantity], str]) -> RunTime:
    return RunTime(
        leaf=leaf,
        quantity=taken.quantity,
        seconds=round(taken.seconds, 3),
        marks_s=round(taken.marks_s, 4),
        doubt_s=round(taken.uncertainty_s, 4),
        reading_id=ids.get((leaf, taken.quantity)),
    )


def _outcome(
    body: ev.CycleTimed, problems: tuple[Problem, ...], readings: list[Reading], gone: set[str]
) -> Outcome:
    if body.cancelled:
        return "cancelled"
    if readings:
        return "withdrawn" if all(reading.id in gone for reading in readings) else "filed"
    return "in doubt" if problems else "not filed"
