"""The data of the report's page, ready for its template."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from markupsafe import Markup

from handsfree.checks.headline import Tally, headline
from handsfree.job.opening import Side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.language.wording import wording
from handsfree.reports.adjustments import Adjustment, adjustments_of, set_up_rows
from handsfree.reports.chart_data import LeafCharts, charts_of
from handsfree.reports.embedded_sound import Sound
from handsfree.reports.last_visit_rows import LastVisitRow, last_visit_rows
from handsfree.reports.opening_svg import opening_svg
from handsfree.reports.reading_rows import SubjectRows, groups_of
from handsfree.reports.run_picture import RunView, run_view
from handsfree.reports.summary import Summary, summary_of
from handsfree.reports.timeline import Stretch, day, lasted, time_line
from handsfree.reports.visit_fact_rows import VisitFactRow, struck_rows, visit_fact_rows
from handsfree.reports.visit_time import zone_of
from handsfree.visit_record.event_words import figure
from handsfree.visit_record.visit_record import VisitRecord

_PLATES = {Subject.LEFT_PLATE: Side.LEFT, Subject.RIGHT_PLATE: Side.RIGHT}


class Heading(NamedTuple):
    """The verdict on the first screen.

    ``kind`` names the style: fail, close, none or pass. ``detail`` holds its lines: each item that
    is not OK, too close to call or not judged, and finally the count.
    """

    kind: str
    words: str
    detail: tuple[str, ...]


class Page(NamedTuple):
    """The computed parts of the page; the rest is in the visit's record."""

    heading: Heading
    summary: Summary
    day: str
    lasted: str
    plan: Markup
    adjusted: tuple[Adjustment, ...]
    set_up: tuple[tuple[str, str, str], ...]
    charts: tuple[LeafCharts, ...]
    groups: tuple[SubjectRows, ...]
    runs: tuple[RunView, ...]
    stretches: tuple[Stretch, ...]
    sounds: dict[str, str]
    not_understood: int
    noted: tuple[VisitFactRow, ...]
    before: tuple[LastVisitRow, ...]


def page_of(visit: VisitRecord, sound: Sound) -> Page:
    """Prepares the data for the template."""
    clips = tuple(dict.fromkeys(_clips(visit)))
    sound.prepare(clips)
    sounds = {clip: address for clip in clips if (address := sound.address(clip)) is not None}
    return Page(
        heading=heading_of(visit),
        summary=summary_of(visit),
        day=day(visit.began, zone_of(visit)),
        lasted=lasted(visit.began, visit.ended),
        plan=Markup(opening_svg(visit.opening, _plates(visit))),
        adjusted=adjustments_of(visit),
        set_up=set_up_rows(visit),
        charts=charts_of(visit),
        groups=groups_of(visit),
        runs=tuple(run_view(run, sound) for run in visit.runs),
        stretches=time_line(visit),
        sounds=sounds,
        not_understood=sum(
            not (each.understood or each.kept_as or each.ignored) for each in visit.utterances
        ),
        noted=(*visit_fact_rows(visit), *struck_rows(visit)),
        before=last_visit_rows(visit),
    )


def heading_of(visit: VisitRecord) -> Heading:
    """The verdict in plain words; the worst result decides.

    Only a finished visit with an intact journal can be shown as OK.
    """
    of = {
        kind: tuple(m.what for m in visit.open_items if m.kind == kind)
        for kind in ("not OK", "too close")
    }
    counted = summary_of(visit).tally
    bare = Tally(passed=counted.passed, total=counted.total, not_checked=counted.not_checked)
    words = headline(wording(), bare).rstrip(".")
    off = any(item.word == "tagged_out" for item in visit.open_items)
    if off or of["not OK"]:
        detail = (*of["not OK"], *of["too close"], words)
        return Heading(
            "fail", "Out of service: operator off and tagged" if off else "Not OK", detail
        )
    if of["too close"]:
        return Heading("close", "Nothing fails, but too close to call", (*of["too close"], words))
    if counted.outside:
        return Heading("none", "Not judged", (counted.outside,))
    if not visit.verification.whole:
        return Heading("none", f"Before the break in the journal: {words}", ())
    if not visit.complete:
        return Heading("none", f"So far {words}", ())
    if counted.unjudged or not counted.total:
        unjudged = (f"not judged: {what}" for what in counted.unjudged)
        return Heading("none", "Not fully checked", (*unjudged, words))
    return Heading("pass", words, ())


def _clips(visit: VisitRecord) -> Iterable[str]:
    """Every clip played on the page, those of the readings first."""
    yield from (item.clip for item in visit.readings if item.clip)
    yield from (note.clip for note in visit.notes if note.clip)
    yield from (caution.clip for caution in visit.cautions if caution.clip)
    yield from (fact.clip for fact in visit.facts if fact.clip)
    on_paper = (*visit.visit_facts, *visit.struck_visit_facts)
    yield from (fact.clip for fact in on_paper if fact.clip)
    yield from (fault.clip for fault in visit.door_faults if fault.clip)
    yield from (heard.clip for heard in visit.utterances if heard.clip)
    yield from (run.clip for run in visit.runs if run.clip)
    yield from (matter.reason_clip for matter in visit.open_items if matter.reason_clip)


def _plates(visit: VisitRecord) -> dict[Side, str]:
    """The measurements at each plate, in a few words."""
    known: dict[Side, list[str]] = {}
    for line in visit.quantities:
        if line.subject in _PLATES and line.quantity in (
            Quantity.PLATE_HEIGHT,
            Quantity.PLATE_DISTANCE,
        ):
            what = "high" if line.quantity is Quantity.PLATE_HEIGHT else "to centre"
            words = f"{figure(line.as_left[-1])} {line.unit} {what}"
            known.setdefault(_PLATES[line.subject], []).append(words)
    return {side: ", ".join(words) for side, words in known.items()}
