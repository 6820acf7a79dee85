"""The first table of the record: faults and open items, the work on them, and the deciders."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from handsfree.job.fault_kinds import MISTAKEN
from handsfree.job.finding import Finding
from handsfree.procedure.step import Procedure
from handsfree.reports.printed_words import PrintedWords
from handsfree.reports.record_readings import limit_words
from handsfree.reports.record_verdict import decided_by_owner
from handsfree.visit_record.door_fault import DoorFault
from handsfree.visit_record.event_words import with_unit
from handsfree.visit_record.open_items import OpenItem
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord

_TOGETHER = 8
"""Most steps that were skipped for one reason, and share a row."""


class Problem(NamedTuple):
    """One row: ``about`` says how it was found, ``open`` is true if something is left to do."""

    what: str
    about: str
    done: str
    left: str
    open: bool


def problems_of(
    visit: VisitRecord, words: PrintedWords, procedure: Procedure | None
) -> tuple[Problem, ...]:
    """Every fault and every open item, the unresolved ones first.

    ``procedure`` is that of the visit, in the language of the record; None if it is unknown.
    """
    asked = names_of(procedure)
    items = {item.key: item for item in visit.open_items}
    latest = {life.key: life for life in visit.door_faults}
    rows = [
        _fault(life, items.get(life.key) if latest[life.key] is life else None, visit, words, asked)
        for life in visit.door_faults
    ]
    others = [i for i in visit.open_items if i.key not in latest or not latest[i.key].open]
    rows += [_item(i, visit, words) for i in others if i.kind != "skipped"]
    rows += _skipped([i for i in others if i.kind == "skipped"], words, asked)
    return tuple(sorted(rows, key=lambda row: not row.open))


def fact_name(name: str, asked: Mapping[str, str]) -> str:
    """The name of an observation in the procedure, otherwise its own words."""
    return asked.get(name, name.replace("_", " "))


def names_of(procedure: Procedure | None) -> dict[str, str]:
    """The names of observations and the short prompts of steps, by fact and by step."""
    if procedure is None:
        return {}
    named = {step.id: step.brief.rstrip("?.") for step in procedure.steps}
    named |= {step.fact: step.called for step in procedure.steps if step.fact and step.called}
    return named


def _fault(
    life: DoorFault,
    item: OpenItem | None,
    visit: VisitRecord,
    words: PrintedWords,
    asked: Mapping[str, str],
) -> Problem:
    return Problem(
        what=_what(life, words, asked),
        about=_about(life, visit, words),
        done=_done(life, words),
        left=_left(item, words, life.left, life.left_by)
        if life.open
        else words.text("nothing_left"),
        open=life.open,
    )


def _what(life: DoorFault, words: PrintedWords, asked: Mapping[str, str]) -> str:
    w = words.names
    if life.kind == "complaint":
        return life.name
    if life.kind == "observed":
        name = fact_name(life.name, asked)
    else:
        name = w.name("fault" if life.kind == "named" else "rule", life.name)
    return f"{w.subject(life.subject)}: {name}"


def _about(life: DoorFault, visit: VisitRecord, words: PrintedWords) -> str:
    told = words.text(f"found_{life.kind}")
    values = [_value(r, life.name) for r in map(visit.reading, life.readings) if r is not None]
    if life.kind == "measured" and values:
        told = words.text("found_measured_value", values=", ".join(dict.fromkeys(values)))
    said = [told, f"“{life.words}”" if life.words else ""]
    if life.cause:
        said.append(words.text("cause", cause=life.cause.rstrip(".")))
    elif life.outcome in ("not_found", "stopped"):
        said.append(words.text(f"search_{life.outcome}"))
    return "; ".join(filter(None, said))


def _value(story: ReadingStory, rule: str) -> str:
    """What was measured; by a rule of another quantity, what that rule made of it (an energy)."""
    read = story.accepted.measure
    for found in story.findings:
        if found.rule == rule and found.unit != read.unit and found.reading:
            return with_unit(found.reading, found.unit, found.limit)
    return str(read)


def _done(life: DoorFault, words: PrintedWords) -> str:
    w = words.names
    if life.withdrawn:
        return words.text("withdrawn")
    if life.work == MISTAKEN:
        return words.text("mistaken")
    done = []
    if life.tried:
        tried = ", ".join(w.name("work", work) for work in life.tried)
        done.append(words.text("tried", what=tried))
    if life.work and life.work != "nothing":
        done.append(
            w.name("work", life.work) + (f" ({w.name('part', life.part)})" if life.part else "")
        )
    proofs = {
        "observation": "seen_again",
        "reading": "measured_again",
        "looked": "looked_again",
        "search": "tried_again",
    }
    if life.proved is not None:
        done.append(words.text(proofs[life.proved]) if life.proved in proofs else life.proved)
    elif done:
        done.append(words.text("not_proved"))
    return "; ".join(done) or words.text("nothing_done")


def _skipped(
    items: list[OpenItem], words: PrintedWords, asked: Mapping[str, str]
) -> Iterator[Problem]:
    """Skipped steps; those with one reason and one decision share a row."""
    alike: dict[tuple[str, str], list[str]] = {}
    for item in items:
        heard = item.reason_clip is not None and not item.reason_amendments
        told = "skipped_reason" if heard else "reason_typed"
        about = words.text(told, reason=item.reason) if item.reason else ""
        alike.setdefault((about, _left(item, words)), []).append(_step(item.key, words, asked))
    for (about, left), steps in alike.items():
        for at in range(0, len(steps), _TOGETHER):
            what = words.text("skipped", what="; ".join(steps[at : at + _TOGETHER]))
            yield Problem(what, about, words.text("nothing_done"), left, open=True)


def _item(item: OpenItem, visit: VisitRecord, words: PrintedWords) -> Problem:
    """An open item that is no fault: a reading too close, one not judged."""
    what = item.what
    if item.kind != "not OK":
        found = _findings(item, visit)
        what = words.text(
            "too_close" if item.kind == "too close" else "not_judged",
            what=_measured(found, words) if found else item.what,
        )
    return Problem(what, "", words.text("nothing_done"), _left(item, words), open=True)


def _findings(item: OpenItem, visit: VisitRecord) -> list[Finding]:
    return [
        found
        for measured in visit.quantities
        for found in measured.findings
        if f"{found.subject}/{found.rule}" == item.key and found.reading is not None
    ]


def _measured(found: list[Finding], words: PrintedWords) -> str:
    """'left leaf: opening time 3.55 s, at least 3.5 s'."""
    first, w = found[0], words.names
    assert first.reading is not None
    value = with_unit(first.reading, first.unit, first.limit)
    limit = limit_words(words, found)
    name = w.name("rule", first.rule.replace("_", " "))
    return f"{w.subject(first.subject)}: {name} {value}" + (f", {limit}" if limit else "")


def _step(key: str, words: PrintedWords, asked: Mapping[str, str]) -> str:
    """'opening time, left leaf' for the step 'opening-time:left leaf'."""
    step, _, subject = key.partition(":")
    w = words.names
    quantity = step.replace("-", "_")
    if quantity in w.names["quantity"]:
        name = w.quantity(quantity)
    elif w.language == "en":
        name = step.replace("-", " ")
    else:
        name = asked.get(step, step.replace("-", " "))
    if "{subject}" in name:
        return name.replace("{subject}", w.subject(subject or "opening"))
    return f"{name}, {w.subject(subject)}" if subject else name


def _left(
    item: OpenItem | None, words: PrintedWords, word: str | None = None, by: str | None = None
) -> str:
    """The remaining work, and who decides or has decided: 'Not done. ... ; to decide: the
    office'.
    """
    word = item.word if item is not None and item.word else word
    by = item.accepted_by if item is not None and item.accepted_by else by
    told = words.text(f"word_{word}") if word else words.text("still_open")
    if by:
        told = words.text("accepted_by", word=told, by=by)
    if item is not None and item.decision is not None:
        decided = words.text(f"decided_{item.decision.decision}", by=item.decision.by)
    elif item is not None and decided_by_owner(item):
        decided = words.text("decides_owner")
    else:
        decided = words.text("decides_office")
    return f"{told}; {decided}"
