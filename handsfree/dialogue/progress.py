"""Where the visit stands, folded from the journal's events and from nothing else.

The conversation applies the same function to the events that it makes, so a visit
that is resumed stands exactly where the live one stood.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import get_args

from pydantic import Field

from handsfree.errors import JournalError
from handsfree.job.closed_lists import SpeechLevel
from handsfree.job.job import Job
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import search_events as search
from handsfree.journal.job_fold import fold_job
from handsfree.journal.office_events import OfficeBody


class RunningSearch(Record):
    """A search for a cause that is under way: its tree, and the answers so far."""

    tree: str
    sha256: str
    answers: tuple[str, ...] = ()


class Progress(Record):
    """The job and the place in its procedure.

    ``ended`` holds the keys of the tasks that are over with their outcome;
    ``introduced`` the ids of the steps that were spoken in full once; ``cautioned``
    the keys whose caution was acknowledged; ``accepted`` counts the readings ever
    accepted, withdrawn ones too; ``standing_by`` is 'stop' after that word; ``level`` is
    how much is spoken; ``settled`` holds the words on what stays open. ``search`` is the search
    under way; ``uncured`` are the titles of complaints whose last search did not end in a cure, by
    their tree.
    """

    job: Job
    at: str | None = None
    ended: dict[str, str] = Field(default_factory=dict)
    introduced: frozenset[str] = frozenset()
    cautioned: frozenset[str] = frozenset()
    accepted: int = 0
    standing_by: str | None = None
    level: SpeechLevel = "full"
    settled: dict[str, str] = Field(default_factory=dict)
    search: RunningSearch | None = None
    uncured: dict[str, str] = Field(default_factory=dict)
    closed: bool = False


def apply(progress: Progress, body: ev.Body) -> Progress:
    """The progress after one more event."""
    update: dict[str, object] = {"job": fold_job(progress.job, body)}
    match body:
        case ev.StepEntered(key=key):
            ended = {k: outcome for k, outcome in progress.ended.items() if k != key}
            step_id = key.split(":")[0]
            update |= {"at": key, "ended": ended}
            update["introduced"] = progress.introduced | {step_id}
            update["settled"] = {k: word for k, word in progress.settled.items() if k != key}
        case ev.StepEnded(key=key, outcome=outcome):
            update["ended"] = {**progress.ended, key: outcome}
        case ev.CautionAcknowledged(key=key):
            update["cautioned"] = progress.cautioned | {key}
        case ev.ReadingAccepted():
            update["accepted"] = progress.accepted + 1
        case ev.StoodBy(stop=stop):
            update["standing_by"] = "stop" if stop else "stand by"
        case ev.CarriedOn():
            update["standing_by"] = None
        case ev.SpeechSet(level=level):
            update["level"] = level
        case ev.OpenSettled(key=key, word=word):
            update["settled"] = {**progress.settled, key: word}
        case search.SearchStarted(tree=tree, sha256=sha256, title=title):
            update["search"] = RunningSearch(tree=tree, sha256=sha256)
            update["uncured"] = {**progress.uncured, tree: title}
        case search.SearchAnswered(answer=answer) if progress.search is not None:
            answers = (*progress.search.answers, answer)
            update["search"] = progress.search.model_copy(update={"answers": answers})
        case search.SearchEnded(tree=tree, outcome=outcome):
            update["search"] = None
            if outcome == "cured":
                update["uncured"] = {k: v for k, v in progress.uncured.items() if k != tree}
        case ev.VisitClosed():
            update["closed"] = True
        case _:
            pass
    return progress.model_copy(update=update)


_CHANGE_NOTHING = (
    ev.Said,
    ev.Heard,
    ev.SecondHeard,
    ev.TypedUp,
    ev.Judged,
    ev.CautionGiven,
    ev.FactsChallenged,
    ev.VisitResumed,
    ev.TailRecovered,
    ev.CycleTimed,
    ev.Fault,
    *get_args(OfficeBody),
)


def changes_progress(body: ev.Body) -> bool:
    """Whether an event takes the visit on; the others only tell what went on."""
    return not isinstance(body, _CHANGE_NOTHING)


def replay(bodies: Iterable[ev.Body]) -> Progress:
    """The progress that a journal's events add up to.

    Raises JournalError when they do not begin with the opening of a visit.
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
