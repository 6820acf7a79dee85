"""The picture of a timed run: its sound with its marks, and a title."""

from __future__ import annotations

from itertools import groupby
from operator import attrgetter
from typing import NamedTuple

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from handsfree.job.reading import Subject
from handsfree.reports.embedded_sound import Sound
from handsfree.timing.wave_svg import MarkLine, wave_svg
from handsfree.visit_record.cycles import RunMark, TimedRun
from handsfree.visit_record.event_words import quantity_words


class RunView(NamedTuple):
    """A timed run with the picture of its sound, or None."""

    run: TimedRun
    title: str
    svg: Markup | None


def run_view(run: TimedRun, sound: Sound) -> RunView:
    """A run with its title and, if its sound can be read, its picture."""
    samples = sound.samples(run.clip) if run.clip else None
    svg = None if samples is None else Markup(run_svg(samples, run))
    filed = "" if run.run is None else f", run {run.run} of attempt {run.attempt}"
    title = [f"{run.leaf}{filed}: {run.outcome}"]
    for leaf, times in groupby(run.times, attrgetter("leaf")):
        words = ", ".join(f"{quantity_words(one.quantity)} {one.seconds:.2f} s" for one in times)
        title.append(words if leaf == run.leaf else f"{leaf} {words}")
    return RunView(run, "; ".join(title), svg)


def run_svg(samples: NDArray[np.int16], run: TimedRun) -> str:
    """The sound of a run (16 kHz) with its marks as SVG, under 15 kB."""
    lines = tuple(
        MarkLine(at_s=mark.at_s, uncertainty_s=mark.doubt_s, name=_name(run, mark))
        for mark in run.marks
    )
    return wave_svg(samples, lines)


def _name(run: TimedRun, mark: RunMark) -> str | None:
    """The label of a mark in the picture, with its leaf if two are timed."""
    if mark.moment is None or mark.leaf is None:
        return None
    return f"{mark.leaf}, {mark.moment}" if run.leaf is Subject.BOTH_LEAVES else mark.moment
