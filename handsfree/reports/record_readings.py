"""The readings of the owner's record: one row per rule, also for a two-sided limit."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.quantity import SETTINGS, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit, family_of
from handsfree.reports.printed_words import PrintedWords
from handsfree.reports.reading_rows import findings_on, first_and_last, mean_words, verdict_of
from handsfree.visit_record.event_words import figure, with_unit
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord

_STATUS = re.compile(r": (?:seen|memory)\b")
_OTHER_STATUS = re.compile(r": (derived|common practice|house rule)\b")
_ALIKE = (
    (Subject.LEFT_PLATE, Subject.RIGHT_PLATE, "both_plates"),
    (Subject.NEAR_SIDE, Subject.FAR_SIDE, "both_sides"),
)
"""Subjects that share their rows on paper, and their common name."""
_WORST = ("fail", "close", "unjudged", "advised", "pass")


class PrintedRow(NamedTuple):
    """A rule on a quantity; ``found`` is '' after a single measurement, ``kind`` names a style."""

    what: str
    found: str
    left: str
    limit: str
    source: str
    kind: str
    result: str


class PrintedGroup(NamedTuple):
    """The readings of one subject: with a limit, and others (``also``)."""

    subject: str
    rows: tuple[PrintedRow, ...]
    also: tuple[str, ...]


def printed_groups(visit: VisitRecord, words: PrintedWords) -> tuple[PrintedGroup, ...]:
    """The valid readings by subject, in the order of reading."""
    of: dict[Subject, dict[Quantity, list[ReadingStory]]] = {}
    for item in visit.standing:
        of.setdefault(item.now.subject, {}).setdefault(item.now.quantity, []).append(item)
    groups: dict[Subject, PrintedGroup] = {}
    for subject, by_quantity in of.items():
        rows: list[PrintedRow] = []
        also: list[str] = []
        for quantity, items in by_quantity.items():
            if quantity in SETTINGS:
                continue
            found, left = first_and_last(items)
            by_rule: dict[str, list[Finding]] = {}
            for finding in findings_on(left):
                by_rule.setdefault(finding.rule, []).append(finding)
            rows += [_row(visit, words, mine, found, left) for mine in by_rule.values()]
            if not by_rule:
                also.append(_also(words, quantity, found, left))
        if rows or also:
            name = words.names.subject(subject)
            groups[subject] = PrintedGroup(name, tuple(rows), tuple(also))
    for one, other, name in _ALIKE:
        _join(groups, one, other, words.text(name))
    return tuple(groups.values())


def _join(groups: dict[Subject, PrintedGroup], one: Subject, other: Subject, name: str) -> None:
    """Combines two subjects into one group if they differ only in their values."""
    if one not in groups or other not in groups:
        return
    mine, others = groups[one], groups[other]
    bare = [row._replace(found="", left="") for row in mine.rows]
    if bare != [row._replace(found="", left="") for row in others.rows] or others.also or mine.also:
        return
    rows = tuple(
        row._replace(
            found=", ".join(filter(None, (row.found, beside.found))),
            left=f"{row.left}, {beside.left}",
        )
        for row, beside in zip(mine.rows, others.rows, strict=True)
    )
    groups[one] = PrintedGroup(name, rows, ())
    del groups[other]


def printed_settings(visit: VisitRecord, words: PrintedWords) -> tuple[tuple[str, str], ...]:
    """The settings of the controller that were read, with their final values."""
    last: dict[str, str] = {}
    for item in visit.standing:
        if item.now.quantity in SETTINGS:
            of = words.names.subject(item.now.subject)
            last[f"{words.names.quantity(item.now.quantity)}, {of}"] = figure(item.now.value)
    return tuple(last.items())


def source_words(finding: Finding) -> str:
    """The standard, edition and clause of a finding: 'ANSI/BHMA A156.19 (1997), 4.4'."""
    source = finding.source.partition("; ")[2] or finding.source
    return _OTHER_STATUS.sub(r" (\1)", _STATUS.sub("", source))


def _row(
    visit: VisitRecord,
    words: PrintedWords,
    findings: list[Finding],
    found: tuple[ReadingStory, ...],
    left: tuple[ReadingStory, ...],
) -> PrintedRow:
    first = findings[0]
    before = next(
        (f for f in findings_on(found) if f.rule == first.rule and f.reading is not None), None
    )
    as_found = ""
    if before is not None and before.reading is not None:
        as_found = _value(words, before.reading, before.unit, before.limit)
    elif first.unit in tuple(Unit) and family_of(Unit(first.unit)) == family_of(left[-1].now.unit):
        as_found = mean_words(found)
    as_left = mean_words(left)
    if first.reading is not None:
        as_left = _value(words, first.reading, first.unit, first.limit)
    kind = min((verdict_of(each)[0] for each in findings), key=_WORST.index)
    limit = limit_words(words, findings)
    if not limit and words.language == visit.sheet.language:
        limit = first.why  # what has to be known before there is a limit
    sources = (source_words(each) for each in findings if each.limit is not None)
    return PrintedRow(
        what=words.names.name("rule", first.rule.replace("_", " ")),
        found=as_found,
        left=as_left,
        limit=limit,
        source="; ".join(dict.fromkeys(sources)),
        kind=kind,
        result=words.text(f"verdict_of_{_result(kind, findings)}"),
    )


def limit_words(words: PrintedWords, findings: Iterable[Finding]) -> str:
    """'at least 3.5 s', 'at most 15 lbf', '34 to 48 in'; '' without a limit."""
    sides = {f.bound: f for f in findings if f.limit is not None}
    low, high = sides.get("at least"), sides.get("at most")
    if low is not None and high is not None and low.limit is not None and high.limit is not None:
        same = low.unit == high.unit
        least = _value(words, low.limit, "" if same and low.unit != "deg" else low.unit)
        return words.text("between", low=least, high=_value(words, high.limit, high.unit))
    if low is not None and low.limit is not None:
        return words.text("at_least", low=_value(words, low.limit, low.unit))
    if high is not None and high.limit is not None:
        return words.text("at_most", high=_value(words, high.limit, high.unit))
    return ""


def _value(
    words: PrintedWords, value: Decimal, unit: str, apart_from: Decimal | None = None
) -> str:
    """The text of a value: '3.69 s', or '12 months' for a unit without a symbol."""
    if unit == Unit.MONTH:
        return f"{value} {words.names.unit(unit, value)}"
    return with_unit(value, unit, apart_from)


def _result(kind: str, findings: list[Finding]) -> str:
    advised = all(each.binding is Binding.RECOMMENDATION for each in findings)
    passed = all(each.verdict is Verdict.PASS for each in findings)
    return "advised_pass" if advised and passed else kind


def _also(
    words: PrintedWords,
    quantity: Quantity,
    found: tuple[ReadingStory, ...],
    left: tuple[ReadingStory, ...],
) -> str:
    before = f"{mean_words(found)} → " if found else ""
    return f"{words.names.quantity(quantity)} {before}{mean_words(left)}"
