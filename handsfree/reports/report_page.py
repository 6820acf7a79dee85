"""What stands on the report's page, made ready for its template."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from operator import attrgetter
from typing import NamedTuple

from markupsafe import Markup

from handsfree.checks.headline import Tally, headline
from handsfree.job.opening import Side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.language.wording import wording
from handsfree.reports.chart_data import LeafCharts, charts_of
from handsfree.reports.dossier import Dossier
from handsfree.reports.embedded_sound import Sound
from handsfree.reports.office_text import figure, quantity_words
from handsfree.reports.opening_svg import opening_svg
from handsfree.reports.reading_rows import Group, groups_of
from handsfree.reports.timed_runs import TimedRun, run_svg
from handsfree.reports.timeline import Stretch, day, lasted, time_line

_PLATES = {Subject.LEFT_PLATE: Side.LEFT, Subject.RIGHT_PLATE: Side.RIGHT}


class Heading(NamedTuple):
    """The verdict in the first screen.

    ``kind`` is fail, close, none or pass: a name for its style. ``detail`` are lines that belong
    to it, each one thing that is not in order, too close or not judged, and last the count.
    """

    kind: str
    words: str
    detail: tuple[str, ...]


class RunView(NamedTuple):
    """A run of the clock with the picture of its sound, None where there is none."""

    run: TimedRun
    title: str
    svg: Markup | None


class Page(NamedTuple):
    """The parts of the page that are computed; the rest stands in the dossier."""

    heading: Heading
    day: str
    lasted: str
    plan: Markup
    charts: tuple[LeafCharts, ...]
    groups: tuple[Group, ...]
    runs: tuple[RunView, ...]
    stretches: tuple[Stretch, ...]
    sounds: dict[str, str]
    not_understood: int


def page_of(dossier: Dossier, sound: Sound) -> Page:
    """Draws, sorts and fetches what the template shows."""
    clips = tuple(dict.fromkeys(_clips(dossier)))
    sound.prepare(clips)
    sounds = {clip: address for clip in clips if (address := sound.address(clip)) is not None}
    return Page(
        heading=heading_of(dossier),
        day=day(dossier.began),
        lasted=lasted(dossier.began, dossier.ended),
        plan=Markup(opening_svg(dossier.opening, _plates(dossier))),
        charts=charts_of(dossier),
        groups=groups_of(dossier),
        runs=tuple(run_view(run, sound) for run in dossier.runs),
        stretches=time_line(dossier),
        sounds=sounds,
        not_understood=sum(
            not (each.understood or each.kept_as or each.ignored) for each in dossier.utterances
        ),
    )


def heading_of(dossier: Dossier) -> Heading:
    """The verdict in plain words: what rules first.

    Only a visit that was finished, in a journal that is whole, is shown as in order.
    """
    of = {
        kind: tuple(m.what for m in dossier.matters if m.kind == kind)
        for kind in ("not in order", "too close")
    }
    counted = dossier.summary.tally
    bare = Tally(passed=counted.passed, total=counted.total, not_checked=counted.not_checked)
    words = headline(wording(), bare).rstrip(".")
    if of["not in order"]:
        detail = (*of["not in order"], *of["too close"], words)
        return Heading("fail", "Not in order", detail)
    if of["too close"]:
        return Heading("close", "Nothing fails, but too close to call", (*of["too close"], words))
    if counted.outside:
        return Heading("none", "Not judged", (counted.outside,))
    if not dossier.verification.whole:
        return Heading("none", f"Before the break in the journal: {words}", ())
    if not dossier.complete:
        return Heading("none", f"So far {words}", ())
    if counted.unjudged or not counted.total:
        return Heading("none", words, tuple(f"not judged: {what}" for what in counted.unjudged))
    return Heading("pass", words, ())


def _clips(dossier: Dossier) -> Iterable[str]:
    """Every clip that something on the page plays, the readings' own first."""
    yield from (item.clip for item in dossier.readings if item.clip)
    yield from (note.clip for note in dossier.notes if note.clip)
    yield from (caution.clip for caution in dossier.cautions if caution.clip)
    yield from (fact.clip for fact in dossier.facts if fact.clip)
    yield from (heard.clip for heard in dossier.utterances if heard.clip)
    yield from (run.clip for run in dossier.runs if run.clip)
    yield from (matter.reason_clip for matter in dossier.matters if matter.reason_clip)


def _plates(dossier: Dossier) -> dict[Side, str]:
    """What was measured at each plate, in a few words."""
    known: dict[Side, list[str]] = {}
    for line in dossier.summary.lines:
        if line.subject in _PLATES and line.quantity in (
            Quantity.PLATE_HEIGHT,
            Quantity.PLATE_DISTANCE,
        ):
            what = "high" if line.quantity is Quantity.PLATE_HEIGHT else "to centre"
            words = f"{figure(line.as_left[-1])} {line.unit} {what}"
            known.setdefault(_PLATES[line.subject], []).append(words)
    return {side: ", ".join(words) for side, words in known.items()}


def run_view(run: TimedRun, sound: Sound) -> RunView:
    """A run with its title and, where its sound can be read, the picture of it."""
    samples = sound.samples(run.clip) if run.clip else None
    svg = None if samples is None else Markup(run_svg(samples, run))
    filed = "" if run.run is None else f", run {run.run} of attempt {run.attempt}"
    title = [f"{run.leaf}{filed}: {run.outcome}"]
    for leaf, times in groupby(run.times, attrgetter("leaf")):
        words = ", ".join(f"{quantity_words(one.quantity)} {one.seconds:.2f} s" for one in times)
        title.append(words if leaf == run.leaf else f"{leaf} {words}")
    return RunView(run, "; ".join(title), svg)
