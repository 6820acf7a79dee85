"""The job and the position in its procedure: the part of the record that the conversation uses.

The conversation applies the same function to the events that it makes, so a resumed visit continues
exactly where the live one stopped.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from pydantic import Field

from handsfree.errors import JournalError
from handsfree.job.closed_lists import Confirm, SpeechLevel
from handsfree.job.job import Fact, Job
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal import paper_events as paper
from handsfree.journal import search_events as search
from handsfree.journal.controller_events import ControllerEvent
from handsfree.visit_record.controller_set_up import ControllerSetUp
from handsfree.visit_record.door_fault import DoorFault
from handsfree.visit_record.faults import follow, returned

HOLD = "hold"
"""The target of an answer after which the visit waits for a decision."""
PASSED_BY = "passed"
"""Outcome of a task that an answer passed over."""


class RunningSearch(Record):
    """A running search for a cause: its tree, and the answers so far."""

    tree: str
    sha256: str
    answers: tuple[str, ...] = ()


class Course(Record):
    """The position in the procedure.

    ``at`` is the key of the current step; ``ended`` holds the outcomes of finished tasks by key;
    ``standing_by`` is 'stop' after that word; ``settled`` holds the technician's decisions on open
    items by key. ``search`` is the running search; ``faults`` holds the faults found, oldest first.
    ``controller`` is the set-up of the controller so far.

    ``branches`` holds the branches entered, each with the key of the task that it follows; ``led``
    the number of times that the answers of a task led elsewhere, by key; ``held`` the keys of tasks
    whose answer led to a hold; ``proofs`` the number of repairs of an open item; ``searched`` the
    number of times that each search tree was begun; ``noted`` the number of valid visit facts, by
    ``fact_key``.
    """

    at: str | None = None
    ended: dict[str, str] = Field(default_factory=dict)
    standing_by: str | None = None
    settled: dict[str, str] = Field(default_factory=dict)
    search: RunningSearch | None = None
    faults: tuple[DoorFault, ...] = ()
    controller: ControllerSetUp = ControllerSetUp()
    branches: dict[str, str] = Field(default_factory=dict)
    led: dict[str, int] = Field(default_factory=dict)
    held: frozenset[str] = frozenset()
    proofs: dict[str, int] = Field(default_factory=dict)
    searched: dict[str, int] = Field(default_factory=dict)
    noted: dict[str, int] = Field(default_factory=dict)
    closed: bool = False


class Progress(Course):
    """The job, the position in its procedure, and other things that the conversation remembers.

    ``introduced`` holds the ids of steps already spoken in full; ``cautioned`` the keys whose
    caution was acknowledged; ``accepted`` counts the readings ever accepted, including withdrawn
    ones; ``logs`` names the sensor logs that they came from; ``level`` is the speech level.
    ``confirm`` says which answers need 'affirm' now, ``confirm_setting`` which did at the
    beginning; a visit of an older version, without the event, asks for every value. ``opened``
    holds the groups of steps that are asked one by one.
    """

    job: Job
    introduced: frozenset[str] = frozenset()
    cautioned: frozenset[str] = frozenset()
    accepted: int = 0
    logs: frozenset[str] = frozenset()
    level: SpeechLevel = "full"
    confirm: Confirm = "every"
    confirm_setting: Confirm = "every"
    opened: frozenset[str] = frozenset()


_C = TypeVar("_C", bound=Course)


def advance(course: _C, body: ev.Body) -> _C:
    """The position in the procedure after one more event."""
    faults = follow(course.faults, body, course.at)
    if faults is not course.faults:
        new = returned(course.faults, faults)
        settled = {key: word for key, word in course.settled.items() if key not in new}
        course = course.model_copy(update={"faults": faults, "settled": settled})
    update: dict[str, object]
    match body:
        case ev.StepEntered(key=key, proves=proves):
            update = {"at": key, "held": course.held - {key}}
            if proves is not None:
                update["proofs"] = {**course.proofs, proves: course.proofs.get(proves, 0) + 1}
            for name, keys in (("ended", course.ended), ("settled", course.settled)):
                if key in keys:
                    update[name] = {k: value for k, value in keys.items() if k != key}
        case ev.StepEnded(key=key, outcome=outcome, led=led, reopened=reopened):
            course = course.model_copy(
                update={"ended": {k: v for k, v in course.ended.items() if k not in reopened}}
            )
            update = {"ended": {**course.ended, key: outcome}}
            if led is not None:
                update |= _led_on(course, key, outcome, led)
        case ev.StoodBy(stop=stop):
            update = {"standing_by": "stop" if stop else "stand by"}
        case ev.CarriedOn():
            update = {"standing_by": None}
        case ev.FactAccepted(fact=fact):
            observed = f"{fact.subject}/{fact.name}"  # a repeated observation needs a new decision
            update = {"settled": {k: v for k, v in course.settled.items() if k != observed}}
        case ev.OpenSettled(key=key, word=word):
            update = {"settled": {**course.settled, key: word}}
        case search.SearchStarted(tree=tree, sha256=sha256):
            update = {"search": RunningSearch(tree=tree, sha256=sha256)}
            update["searched"] = {**course.searched, tree: course.searched.get(tree, 0) + 1}
        case search.SearchAnswered(answer=answer) if course.search is not None:
            answers = (*course.search.answers, answer)
            update = {"search": course.search.model_copy(update={"answers": answers})}
        case search.SearchEnded():
            update = {"search": None}
        case ControllerEvent():
            update = {"controller": course.controller.after(body)}
        case paper.VisitFactKept(subject=subject, name=name):
            key = fact_key(subject, name)
            count = course.noted.get(key, 0) if VISIT_FACTS[name].many else 0
            update = {"noted": {**course.noted, key: count + 1}}
        case paper.VisitFactWithdrawn(subject=subject, name=name):
            key = fact_key(subject, name)
            left = {**course.noted, key: course.noted.get(key, 0) - 1}
            update = {"noted": {k: count for k, count in left.items() if count > 0}}
        case office.VisitFactAmended(subject=subject, name=name):
            key = fact_key(subject, name)
            change = -1 if not body.new else 1 if body.seq is None else 0
            noted = {**course.noted, key: course.noted.get(key, 0) + change}
            update = {"noted": {k: count for k, count in noted.items() if count > 0}}
        case ev.VisitClosed():
            update = {"closed": True}
        case _:
            return course
    return course.model_copy(update=update)


def fact_key(subject: Subject, name: str) -> str:
    """The key of a visit fact: 'left leaf/operator_serial'."""
    return f"{subject}/{name}"


def _led_on(course: Course, key: str, outcome: str, led: ev.LedOn) -> dict[str, object]:
    """The changes if the answer of a task has a target other than the next step."""
    ended = {**course.ended, key: outcome, **dict.fromkeys(led.passed, PASSED_BY)}
    update: dict[str, object] = {
        "ended": {each: value for each, value in ended.items() if each not in led.again},
        "led": {**course.led, key: course.led.get(key, 0) + 1},
    }
    gone = {*led.left, led.to}
    others = {name: after for name, after in course.branches.items() if name not in gone}
    update["branches"] = {**others, led.to: key} if led.branch else others
    if led.to == HOLD:
        update["held"] = course.held | {key}
    return update


def fold_job(job: Job | None, body: ev.Body) -> Job | None:
    """The job after one more event; None before the visit is opened."""
    match body:
        case ev.VisitOpened(sheet=sheet):
            return Job.open(sheet)
        case ev.ReadingAccepted(reading=reading) if job is not None:
            return job.with_reading(reading)
        case ev.ReadingWithdrawn(reading_id=reading_id) if job is not None:
            return job.without_reading(reading_id)
        case office.ReadingStruck(reading_id=reading_id) if job is not None:
            return job.without_reading(reading_id)
        case office.ReadingAmended(reading_id=reading_id, new=new) if job is not None:
            return job.with_amended(reading_id, new)
        case office.FactAmended(subject=subject, name=name, new=value) if job is not None:
            return job.with_fact(Fact(subject=subject, name=name, value=value))
        case ev.FactAccepted(fact=fact) if job is not None:
            return job.with_fact(fact)
        case ev.FactWithdrawn(subject=subject, name=name) if job is not None:
            return job.without_fact(subject, name)
        case _:
            return job


def job_of(events: Iterable[ev.Event]) -> Job:
    """The job of a journal. Raises JournalError if no visit was opened in it."""
    job: Job | None = None
    for event in events:
        job = fold_job(job, event.body)
    if job is None:
        raise JournalError("the journal holds no opened visit")
    return job


def apply(progress: Progress, body: ev.Body) -> Progress:
    """The progress after one more event."""
    update: dict[str, object] = {"job": fold_job(progress.job, body)}
    match body:
        case ev.StepEntered(key=key):
            update["introduced"] = progress.introduced | {key.split(":")[0]}
            update["cautioned"] = progress.cautioned - {key}  # a caution counts once per entry
        case ev.StepEnded(led=led, reopened=reopened):
            again = (*reopened, *(led.again if led is not None else ()))
            update["cautioned"] = progress.cautioned.difference(again)
        case ev.GroupOpened(group=group):
            update["opened"] = progress.opened | {group}
        case ev.CautionAcknowledged(key=key):
            update["cautioned"] = progress.cautioned | {key}
        case ev.ReadingAccepted(reading=reading):
            update["accepted"] = progress.accepted + 1
            if reading.log is not None:
                update["logs"] = progress.logs | {reading.log}
        case ev.SpeechSet(level=level):
            update["level"] = level
        case ev.ConfirmSet(confirm=confirm, why=why):
            update["confirm"] = confirm
            if why == "setting":
                update["confirm_setting"] = confirm
    return _with_open_faults(advance(progress, body).model_copy(update=update))


def _with_open_faults(progress: Progress) -> Progress:
    """The progress with the open faults entered in its job, where conditions of steps look them
    up.
    """
    latest = {life.key: life for life in progress.faults}
    keys = tuple(key for key, life in latest.items() if life.open)
    if keys == progress.job.open_faults:
        return progress
    return progress.model_copy(
        update={"job": progress.job.model_copy(update={"open_faults": keys})}
    )


def replay(bodies: Iterable[ev.Body]) -> Progress:
    """Computes the progress from a journal's events.

    Raises JournalError if they do not begin with the opening of a visit.
    """
    progress: Progress | None = None
    for body in bodies:
        if progress is None:
            if not isinstance(body, ev.VisitOpened):
                raise JournalError("the journal does not begin with 'visit_opened'")
            progress = Progress(job=Job.open(body.sheet))
        else:
            progress = apply(progress, body)
    if progress is None:
        raise JournalError("the journal is empty")
    return progress


def changes_progress(body: ev.Body) -> bool:
    """True if an event moves the visit forward instead of only reporting."""
    return body.advances
