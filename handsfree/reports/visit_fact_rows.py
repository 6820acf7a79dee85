"""Rows for visit facts: name, value, sound, caveats about calibration."""

from __future__ import annotations

from handsfree.checks.calibration import INTERVAL_MONTHS, calibration
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Family
from handsfree.job.visit_fact import VISIT_FACTS, Group
from handsfree.language.visit_fact_words import fact_name, shown_value
from handsfree.language.wording import Wording, sentence, wording
from handsfree.visit_record.amendment import Amendment
from handsfree.visit_record.visit_facts import VisitFactStory
from handsfree.visit_record.visit_record import VisitRecord

_READS = {"gauge_calibrated": Family.FORCE, "tape_calibrated": Family.LENGTH}
"""The kind of value read by the gauge of a calibration date."""

_WORDS = ("old", "new")


class VisitFactRow(Record):
    """A visit fact for display.

    ``value`` is '' for words kept only as sound; ``typed_up`` is then a machine transcript.
    ``moment`` is true if ``at`` (UTC) is the value. ``clip`` is the sound, ``earlier`` holds the
    values that it replaced. ``amendments`` are the office's; if the fact is ``struck`` out, the
    last one gives the reason.
    """

    seq: int
    group: Group
    name: str
    value: str
    typed_up: str
    moment: bool
    at: str
    clip: str | None
    earlier: tuple[str, ...]
    amendments: tuple[Amendment, ...] = ()
    struck: bool = False


def visit_fact_rows(visit: VisitRecord, w: Wording | None = None) -> tuple[VisitFactRow, ...]:
    """The facts of a visit in the order of their table, without the marks for photos.

    The texts are in English unless another language is given.
    """
    w = w or wording()
    return tuple(_row(w, each) for each in visit.visit_facts if each.name != "photo")


def struck_rows(visit: VisitRecord) -> tuple[VisitFactRow, ...]:
    """The facts that the office struck out, in English and in that order."""
    rows = (_row(wording(), each) for each in visit.struck_visit_facts)
    return tuple(row.model_copy(update={"struck": True}) for row in rows)


def visit_fact_lines(visit: VisitRecord) -> tuple[str, ...]:
    """The same rows as lines of text, in English."""
    return tuple(_line(row) for row in visit_fact_rows(visit))


def calibration_caveats(visit: VisitRecord, w: Wording | None = None) -> tuple[str, ...]:
    """Caveats about the gauges: a calibration that is overdue, or was not noted.

    Gauges that nobody named, or that nothing was read with, are not mentioned.
    """
    w = w or wording()
    told = {each.name: each.value for each in visit.visit_facts if each.subject is Subject.OPENING}
    read = {QUANTITIES[each.now.quantity].family for each in visit.standing}
    found: list[str] = []
    for name, family in _READS.items():
        gauge = VISIT_FACTS[name].dates or ""
        if family not in read or not {name, gauge} & told.keys():
            continue
        state = calibration(told[name], visit.began[:10]) if name in told else "unknown"
        if state != "current":
            text = w.say(
                f"calibration_{state}",
                gauge=fact_name(w, gauge),
                date=told.get(name, ""),
                months=INTERVAL_MONTHS,
            )
            found.append(sentence(text))
    return tuple(found)


def _row(w: Wording, story: VisitFactStory) -> VisitFactRow:
    fact = VISIT_FACTS[story.name]
    return VisitFactRow(
        seq=story.seq,
        group=fact.group,
        name=fact_name(w, story.name, story.subject),
        value=shown_value(w, story.name, story.value),
        typed_up=story.typed_up,
        moment=fact.takes == "moment",
        at=story.at,
        clip=story.clip,
        earlier=tuple(shown_value(w, story.name, each) for each in story.earlier),
        amendments=tuple(
            each.model_copy(
                update={key: shown_value(w, story.name, getattr(each, key)) for key in _WORDS}
            )
            for each in story.amendments
        ),
    )


def _line(row: VisitFactRow) -> str:
    heard = f"{row.typed_up} (typed up by machine)" if row.typed_up else "as spoken, not typed up"
    value = row.at if row.moment else row.value or heard
    before = f" (before: {', '.join(row.earlier)})" if row.earlier else ""
    before += f" (corrected by {row.amendments[-1].by})" if row.amendments else ""
    return f"{row.name}: {value}{before}"
