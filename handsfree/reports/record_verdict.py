"""The verdict for the record and the label, in words and with counts."""

from __future__ import annotations

from handsfree.checks.scope import out_of_scope
from handsfree.reports.printed_words import PrintedWords
from handsfree.reports.summary import summary_of
from handsfree.visit_record.open_items import OpenItem
from handsfree.visit_record.visit_record import VisitRecord

KIND = {
    "out": "fail",
    "fail": "fail",
    "close": "close",
    "unchecked": "close",
    "unjudged": "none",
    "unfinished": "none",
    "broken": "fail",
    "open": "close",
    "pass": "pass",
}
"""The style of each verdict."""
_OF_OWNER = ("accepted", "refused")
"""Words of the technician that hand on a decision of the owner."""


def decided_by_owner(item: OpenItem) -> bool:
    """True for an open item on which the owner decided, and the office has not."""
    return item.decision is None and item.word in _OF_OWNER


def verdict_of_record(visit: VisitRecord) -> str:
    """The kind of the verdict: the first key of ``KIND`` that applies.

    'pass' means a finished visit in which every check passes and nothing is left open, never a door
    that is not judged.
    """
    counted = summary_of(visit).tally
    kinds = {item.kind for item in visit.open_items}
    if visit.verification.broken is not None:
        return "broken"
    if any(item.word == "tagged_out" for item in visit.open_items):
        return "out"
    if counted.wrong or "not OK" in kinds:
        return "fail"
    if counted.close or "too close" in kinds:
        return "close"
    if counted.unjudged and not counted.outside:
        return "unchecked"
    if counted.outside or "not judged" in kinds:
        return "unjudged"
    if not visit.complete or not visit.verification.whole:
        return "unfinished"
    if not counted.total:
        return "unjudged"
    return "open" if visit.open_items else "pass"


def verdict_words(visit: VisitRecord, verdict: str, words: PrintedWords) -> str:
    """A verdict in a few words: 'All 27 checks pass'."""
    return words.text(f"verdict_{verdict}", total=summary_of(visit).tally.total)


def verdict_counts(visit: VisitRecord, verdict: str, words: PrintedWords) -> list[str]:
    """The line under the verdict, which counts the checks that pass and the others."""
    counted = summary_of(visit).tally
    broken = visit.verification.broken
    if broken is not None:
        return [words.text("broken", told=broken.told)]
    why = out_of_scope(visit.opening)
    if why is not None:
        return [words.names.say(why)]
    told = []
    if not counted.total:
        told.append(words.names.say("head_nothing"))
    elif verdict != "pass":
        told.append(
            words.names.say(
                "head_count", count=counted.total, passed=counted.passed, total=counted.total
            )
        )
    numbers = {
        "count_wrong": len(counted.wrong),
        "count_close": len(counted.close),
        "count_unjudged": len(counted.unjudged),
        "count_unchecked": len(counted.not_checked),
        "count_advised": len(counted.advised),
        "count_owner": sum(map(decided_by_owner, visit.undecided)),
        "count_open": sum(not decided_by_owner(item) for item in visit.undecided),
    }
    if verdict == "out":
        told.insert(0, words.text("operator_off"))
    told += [words.text(name, count=count) for name, count in numbers.items() if count]
    return told
