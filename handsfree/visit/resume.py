"""Builds the initial state of a visit, and rebuilds it from the journal after a break."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from handsfree import __version__
from handsfree.checks.limits import LimitSet
from handsfree.dialogue import state_machine
from handsfree.dialogue.proposed_reading import Rival
from handsfree.dialogue.state import CycleHeard, Heard, Keep, SecondHeard, State
from handsfree.errors import JournalError
from handsfree.job.job import Job, Sheet
from handsfree.job.reading import Taken
from handsfree.journal import events as ev
from handsfree.journal.motion_events import LeafMeasured
from handsfree.language.interpreter import Language
from handsfree.language.meaning import CodeSaid, ReadingSaid
from handsfree.procedure.step import Procedure
from handsfree.visit.cycle_events import heard_of
from handsfree.visit_record.progress import Progress, changes_progress, replay


def opening_event(
    sheet: Sheet, procedure: Procedure, limits: LimitSet, **shell: str
) -> ev.VisitOpened:
    """Builds the first event of a visit. ``shell`` names model, ears and mouth."""
    return ev.VisitOpened(
        sheet=sheet,
        procedure=procedure.name,
        procedure_sha256=procedure.sha256,
        limits=limits.name,
        limits_sha256=limits.sha256,
        version=__version__,
        **shell,
    )


def first_state(
    sheet: Sheet, procedure: Procedure, limits: LimitSet, *, times_by_ear: bool = False
) -> State:
    """Builds the state of a visit that has not begun."""
    progress = Progress(job=Job.open(sheet))
    return State(procedure=procedure, limits=limits, progress=progress, times_by_ear=times_by_ear)


def state_of(
    events: tuple[ev.Event, ...],
    procedure: Procedure,
    limits: LimitSet,
    language: Language,
    folder: Path,
    *,
    times_by_ear: bool = False,
) -> State:
    """Rebuilds the state from a journal, including echoed answers and those that wait for
    'affirm'.

    Raises JournalError if the procedure or limit set differs from the original one.
    """
    first = events[0].body if events else None
    if not isinstance(first, ev.VisitOpened):
        raise JournalError("does not begin with the opening of a visit", file=folder, line=1)
    for what, was, now in (
        ("procedure", first.procedure_sha256, procedure.sha256),
        ("limit set", first.limits_sha256, limits.sha256),
    ):
        if was != now:
            raise JournalError(
                f"the {what} has changed since this visit began",
                file=folder,
                way_out="restore the old file, or begin a new visit",
            )

    def after(told: tuple[ev.Event, ...]) -> State:
        progress = replay(event.body for event in told)
        new = State(
            procedure=procedure, limits=limits, progress=progress, times_by_ear=times_by_ear
        )
        return _hears(new, _since_progress(told), language)

    state, begin = after(events), _accepted_last(events)
    if begin is None or (said_back := after(events[:begin])).echo is None:
        return state
    # The last accepted answer may still be taken back, so the events from there are replayed.
    inputs = [event.body for event in events[begin:] if isinstance(event.body, _TakenIn)]
    heard_again = _hears(said_back, inputs, language)
    return heard_again if _written(heard_again) == _written(state) else state


def _hears(state: State, inputs: Iterable[_TakenIn], language: Language) -> State:
    for body in inputs:
        state, _ = state_machine.answer(state, _input_of(body, language), 0.0)
    return state


def _written(state: State) -> Progress:
    """The progress recorded in the journal, without an echoed answer."""
    return state.progress if state.echo is None else state.echo.before


def _accepted_last(events: tuple[ev.Event, ...]) -> int | None:
    """The position of the first event of the last answer accepted without 'affirm'; None without
    one. These events are the first of their turn.
    """
    last = None
    for nth in range(len(events) - 1, -1, -1):
        body = events[nth].body
        if isinstance(body, ev.ReadingAccepted | ev.FactAccepted) and body.how != "explicit":
            last = nth
        elif last is not None and not changes_progress(body) and not isinstance(body, ev.Judged):
            return last
    return None


def unwritten_events(
    events: tuple[ev.Event, ...],
    procedure: Procedure,
    limits: LimitSet,
    language: Language,
    folder: Path,
    *,
    times_by_ear: bool = False,
) -> tuple[ev.Body, ...]:
    """Computes the events of the last turn that did not reach the disk.

    A turn is one write, but a power cut may leave only its first lines: an 'affirm' without the
    reading that it accepted. The conversation is pure, so the rest can be recomputed. Nothing is
    missing once the tool has spoken. Raises JournalError like :func:`state_of`.
    """

    def before(nth: int) -> State:
        return state_of(
            events[:nth], procedure, limits, language, folder, times_by_ear=times_by_ear
        )

    ends = (ev.Heard, ev.CycleTimed, LeafMeasured, ev.Said, ev.VisitResumed)
    nth = max((n for n, event in enumerate(events) if isinstance(event.body, ends)), default=0)
    last = events[nth].body if events else None
    there = tuple(
        event.body
        for event in events[nth + 1 :]
        if not isinstance(event.body, ev.Fault | ev.TailRecovered)
    )
    wanted: tuple[ev.Body, ...] = ()
    if isinstance(last, ev.Heard | ev.CycleTimed | LeafMeasured):
        _, replies = state_machine.answer(before(nth), _input_of(last, language), 0.0)
        wanted = tuple(r.body for r in replies if isinstance(r, Keep) and not r.earlier)
    elif there and (echo := before(nth + 1).echo) is not None:
        wanted = echo.bodies  # the answer counts, but the utterance that accepted it is lost
    return wanted[len(there) :] if wanted[: len(there)] == there else ()


def _input_of(
    body: _TakenIn, language: Language
) -> Heard | CycleHeard | SecondHeard | LeafMeasured:
    """The conversation's input recorded by this event."""
    if isinstance(body, LeafMeasured):
        return body
    if isinstance(body, ev.CycleTimed):
        return heard_of(body)
    if isinstance(body, ev.SecondHeard):
        return SecondHeard(meaning=language.parse(body.words), late=body.late)
    return Heard(
        text=body.text,
        meaning=language.parse(body.text),
        clip=body.clip,
        taken=Taken.TYPED if body.start_s is None else Taken.SAID,
        rival=None if body.start_s is None else rival_of(language, body.text),
        rivals=() if body.start_s is None else rivals_of(language, body.text),
        may_be=readings_in(language, body.may_be),
        other_code=code_in(language, body.may_be),
        retried=body.retried,
    )


_TakenIn = ev.Heard | ev.CycleTimed | ev.SecondHeard | LeafMeasured


def _since_progress(events: tuple[ev.Event, ...]) -> list[_TakenIn]:
    """The inputs since the last event that changed the progress; they affect only the pending
    question.

    The answers that need 'affirm' may change while a question is pending.
    """
    heard: list[_TakenIn] = []
    for event in events:
        if isinstance(event.body, _TakenIn):
            heard.append(event.body)
        elif changes_progress(event.body) and not isinstance(event.body, ev.ConfirmSet):
            heard.clear()
    return heard


def rival_of(language: Language, text: str) -> Rival | None:
    """Another value that may have been meant by the same sound, or None."""
    return _rival(language.sounding_alike(text))


def rivals_of(language: Language, text: str) -> tuple[Rival | None, ...]:
    """For each of several readings another value that may have been meant, or None."""
    return tuple(map(_rival, language.each_sounding_alike(text)))


def _rival(alike: tuple[str, str, ReadingSaid] | None) -> Rival | None:
    if alike is None:
        return None
    one, other, said = alike
    return Rival(value=said.value, one=one, other=other)


def readings_in(language: Language, texts: Iterable[str]) -> tuple[ReadingSaid, ...]:
    """Parses the texts and returns those that are readings."""
    meanings = map(language.parse, texts)
    return tuple(meaning for meaning in meanings if isinstance(meaning, ReadingSaid))


def code_in(language: Language, texts: Iterable[str]) -> CodeSaid | None:
    """The first of the texts that is what a controller shows, or None."""
    meanings = map(language.parse, texts)
    return next((each for each in meanings if isinstance(each, CodeSaid)), None)
