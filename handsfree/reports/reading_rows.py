"""The table of readings: one row per rule, as found and as left, with limit and uncertainty."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Family, Unit, family_of
from handsfree.journal.plain_words import words_of
from handsfree.visit_record.event_words import figure, quantity_words, with_unit
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord


class RuleRow(NamedTuple):
    """One rule on one quantity, or a quantity without a rule.

    ``found`` and ``left`` are values with their unit, ``found`` '' after a single attempt.
    ``verdict`` is one of pass, fail, close, unjudged, advised, none: a name for style and words.
    ``why`` explains a result other than a pass, and the caveats of a pass. ``items`` holds the
    readings of the quantity, only in its first row.
    """

    what: str
    found: str
    left: str
    runs: str
    limit: str
    clause: str
    doubt: str
    odds: str
    verdict: str
    verdict_words: str
    why: str
    advice: str
    items: tuple[ReadingStory, ...]


class SubjectRows(NamedTuple):
    """The rows of one subject."""

    subject: str
    rows: tuple[RuleRow, ...]


def groups_of(visit: VisitRecord) -> tuple[SubjectRows, ...]:
    """Every quantity that was read, by subject, in the order of reading."""
    of: dict[tuple[Subject, Quantity], list[ReadingStory]] = {}
    for item in visit.readings:
        of.setdefault((item.now.subject, item.now.quantity), []).append(item)
    by_subject: dict[Subject, list[RuleRow]] = {}
    for (subject, quantity), items in of.items():
        by_subject.setdefault(subject, []).extend(_rows(quantity, tuple(items)))
    return tuple(SubjectRows(subject, tuple(rows)) for subject, rows in by_subject.items())


def first_and_last(
    items: Iterable[ReadingStory],
) -> tuple[tuple[ReadingStory, ...], tuple[ReadingStory, ...]]:
    """The valid readings as found and as left; 'as found' is empty after a single attempt."""
    standing = [item for item in items if item.gone is None]
    if not standing:
        return (), ()
    first, last = standing[0].now.attempt, standing[-1].now.attempt
    found = tuple(i for i in standing if i.now.attempt == first) if first != last else ()
    return found, tuple(i for i in standing if i.now.attempt == last)


def findings_on(items: Iterable[ReadingStory]) -> tuple[Finding, ...]:
    """The current findings on an attempt; they are attached to its last run."""
    return tuple(found for item in items for found in item.findings)


def _rows(quantity: Quantity, items: tuple[ReadingStory, ...]) -> list[RuleRow]:
    found, left = first_and_last(items)
    name = quantity_words(quantity)
    if not left:
        return [_plain(name, "", "", items)]
    then = {(f.rule, f.bound): f for f in findings_on(found)}
    rows: list[RuleRow] = []
    for finding in findings_on(left):
        rows.append(_judged(name, finding, then, found, left, () if rows else items))
    return rows or [_plain(name, mean_words(found), mean_words(left), items)]


def _judged(
    name: str,
    finding: Finding,
    then: dict[tuple[str, str | None], Finding],
    found: tuple[ReadingStory, ...],
    left: tuple[ReadingStory, ...],
    items: tuple[ReadingStory, ...],
) -> RuleRow:
    rule = words_of(finding.rule)
    before = then.get((finding.rule, finding.bound))
    of_quantity = family_of(left[-1].now.unit) == _family(finding.unit)
    as_found = ""
    if before is not None and before.reading is not None:
        as_found = with_unit(before.reading, before.unit, before.limit)
    elif of_quantity:
        as_found = mean_words(found)
    as_left = mean_words(left)
    if finding.reading is not None:
        as_left = with_unit(finding.reading, finding.unit, finding.limit)
    kind, words = verdict_of(finding)
    return RuleRow(
        what=rule,
        found=as_found,
        left=as_left,
        runs=_runs(left, finding.bound) if of_quantity else "",
        limit="" if finding.limit is None else _limit(finding),
        clause=finding.source.partition("; ")[2] or finding.source,
        doubt=_doubt(finding),
        odds=_odds(finding),
        verdict=kind,
        verdict_words=words,
        why=finding.why if finding.verdict is not Verdict.PASS else finding.note,
        advice=finding.advice if finding.verdict is not Verdict.PASS else "",
        items=items,
    )


def _plain(name: str, found: str, left: str, items: tuple[ReadingStory, ...]) -> RuleRow:
    words = "" if left else "taken back"
    return RuleRow(name, found, left, "", "", "", "", "", "none", words, "", "", items)


def verdict_of(finding: Finding) -> tuple[str, str]:
    """A finding's verdict as a name for its style, and in words."""
    advised = finding.binding is Binding.RECOMMENDATION
    match finding.verdict:
        case Verdict.PASS:
            return "pass", "as recommended" if advised else "pass"
        case Verdict.FAIL if advised:
            return "advised", "not as recommended"
        case Verdict.FAIL:
            return "fail", "fail"
        case Verdict.TOO_CLOSE:
            return "close", "too close to call"
        case _:
            return "unjudged", "not judged"


def _limit(finding: Finding) -> str:
    assert finding.limit is not None
    value = with_unit(finding.limit, finding.unit)
    return f"{finding.bound} {value}"


def _doubt(finding: Finding) -> str:
    return f"± {with_unit(finding.guard_band, finding.unit)}" if finding.guard_band else ""


def _odds(finding: Finding) -> str:
    """The probability that the true value keeps the limit, if known."""
    if finding.probability is None or not finding.guard_band:
        return ""
    percent = round(finding.probability * 100)
    odds = "over 99 %" if percent > 99 else "under 1 %" if percent < 1 else f"{percent} %"
    return f"{odds} within"


def mean_words(items: tuple[ReadingStory, ...]) -> str:
    """The mean of readings in the unit of the last one, with the unit; '' without readings."""
    if not items:
        return ""
    unit = items[-1].now.unit
    values = [item.now.value for item in items if item.now.unit is unit]
    return with_unit(sum(values, Decimal(0)) / len(values), unit)


def _runs(items: tuple[ReadingStory, ...], bound: str | None) -> str:
    """'mean of 3.7, 3.8'; for a gauge the worst run, because each has to keep the limit."""
    if len(items) < 2:
        return ""
    timed = family_of(items[-1].now.unit) is Family.TIME
    counts = "mean" if timed else "smallest" if bound == "at least" else "largest"
    return f"{counts} of {', '.join(figure(item.now.value) for item in items)}"


def _family(unit: str) -> str | None:
    return family_of(Unit(unit)) if unit in tuple(Unit) else None
