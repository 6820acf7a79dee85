"""Follows the faults of the door through the events: found, worked on, proved, left.

Failed requirements, bad observations, complaints and faults named by the technician are all faults.
None is ever removed: a fault that returns after its proof begins a new occurrence (a 'life').
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from handsfree.checks.scope import SCOPE
from handsfree.job.finding import Binding, Finding, Verdict
from handsfree.journal import events as ev
from handsfree.journal import fault_events as fault
from handsfree.journal import office_events as office
from handsfree.journal import search_events as search
from handsfree.visit_record.door_fault import DoorFault

OTHERS_DO = "left"
"""The work of a remedy that somebody else has to decide on or carry out."""

Lives = tuple[DoorFault, ...]


def follow(lives: Lives, body: ev.Body, step: str | None) -> Lives:
    """The faults after one more event at the step of that key, oldest first; none is ever
    removed.
    """
    match body:
        case fault.FaultFound(subject=subject, name=name, clip=clip):
            key = f"{subject}/{name}"
            life = DoorFault(
                key=key, kind="named", subject=subject, name=name, step=step, clip=clip
            )
            return _begun(lives, life)
        case fault.FaultWorked(key=key, work=work, part=part, cause=cause):
            told: dict[str, object] = {"cause": cause} if cause else {}
            return _changed(lives, key, work=work, part=part, **told)
        case fault.FaultProved(key=key, by=by, what=what):
            return _changed(lives, key, proved=by, proof=what)
        case ev.FactAccepted(fact=fact):
            return _observed(lives, fact.subject, fact.name, fact.value, step)
        case office.FactAmended(subject=subject, name=name, new=new):
            if new == "not_in_order":
                return _observed(lives, subject, name, new, step)
            return _corrected(lives, f"{subject}/{name}")
        case ev.NoteKept(step_key=key, text=text):
            return _described(lives, key, text)
        case ev.Judged(findings=findings):
            return _judged(lives, findings, step)
        case ev.ReadingWithdrawn(reading_id=gone) | office.ReadingStruck(reading_id=gone):
            return tuple(_without(life, gone) for life in lives)
        case search.SearchStarted(tree=tree, title=title):
            life = DoorFault(
                key=f"search/{tree}", kind="complaint", subject="opening", name=title, step=step
            )
            return _begun(lives, life, {"outcome": None})
        case search.SearchAnswered(asked=asked, answer=answer):
            return _answered(lives, asked, answer)
        case search.SearchEnded():
            return _searched(lives, body, step)
        case ev.OpenSettled(key=key, word=word, by=by):
            return _changed(lives, key, left=word, left_by=by)
        case _:
            return lives


def latest_occurrence(lives: Iterable[DoorFault], key: str) -> DoorFault | None:
    """The latest occurrence of a fault; None for a key that never was one."""
    return next((life for life in reversed(tuple(lives)) if life.key == key), None)


def returned(before: Lives, after: Lives) -> frozenset[str]:
    """The keys of faults that occurred again: a decision on an earlier occurrence does not cover
    them.
    """
    return frozenset(life.key for life in after[len(before) :])


def _begun(lives: Lives, life: DoorFault, again: Mapping[str, object] | None = None) -> Lives:
    """Begins a new life, unless one with the same key is still open, which ``again`` then updates.

    Earlier observations no longer prove anything once it was found again.
    """
    last = latest_occurrence(lives, life.key)
    if last is not None and last.open:
        return _changed(lives, life.key, **{"proved": None, "proof": None, **(again or {})})
    return (*lives, life)


def _changed(lives: Lives, key: str, /, **update: object) -> Lives:
    """The occurrences, with the latest one of a key changed."""
    life = latest_occurrence(lives, key)
    if life is None or not update:
        return lives
    return tuple(each.model_copy(update=update) if each is life else each for each in lives)


def _observed(lives: Lives, subject: str, name: str, value: str, step: str | None) -> Lives:
    key = f"{subject}/{name}"
    life = latest_occurrence(lives, key)
    if value == "not_in_order":
        made = DoorFault(key=key, kind="observed", subject=subject, name=name, step=step)
        if life is not None and life.open and life.kind == "observed":
            tried = life.tried if life.work is None else (*life.tried, life.work)
            again = {"work": None, "part": None, "tried": tried, "proved": None, "proof": None}
            return _changed(lives, key, **again)
        return (*lives, made)
    if value != "in_order" or life is None or life.kind != "observed":
        return lives
    if life.open and life.proved is None:
        return _changed(lives, key, proved="observation", proof=name)
    return lives


def _corrected(lives: Lives, key: str) -> Lives:
    """Removes an observation that the office changed to OK: it never was a fault."""
    life = latest_occurrence(lives, key)
    if life is None or life.kind != "observed" or life.proved is not None:
        return lives
    return _changed(lives, key, withdrawn=True)


def _described(lives: Lives, step: str | None, text: str) -> Lives:
    """Adds the words on what is wrong, which follow the answer of a step."""
    return tuple(
        life.model_copy(update={"words": text})
        if life.kind == "observed" and life.step == step and life.words is None and life.open
        else life
        for life in lives
    )


def _judged(lives: Lives, findings: Iterable[Finding], step: str | None) -> Lives:
    by_key: dict[str, list[Finding]] = {}
    for found in findings:
        if found.binding is Binding.REQUIREMENT and found.rule != SCOPE:
            by_key.setdefault(f"{found.subject}/{found.rule}", []).append(found)
    for key, mine in by_key.items():
        ids = tuple(dict.fromkeys(f.reading_id for f in mine if f.reading_id))
        life, verdicts = latest_occurrence(lives, key), {found.verdict for found in mine}
        if Verdict.FAIL in verdicts:
            made = DoorFault(
                key=key,
                kind="measured",
                subject=mine[0].subject,
                name=mine[0].rule,
                step=step,
                readings=ids,
                quantity=mine[0].quantity,
            )
            known = life.readings if life is not None else ()
            again = {"readings": tuple(dict.fromkeys((*known, *ids)))}
            lives = _begun(lives, made, again)
        elif ids and life is not None and life.kind == "measured" and _passes(life, verdicts):
            same = set(ids) <= set(life.readings)
            done: dict[str, object] = {"proved": "reading", "proof": ids[-1]}
            if same:
                done = {"withdrawn": True}
            lives = _changed(lives, key, **done)
    return lives


def _passes(life: DoorFault, verdicts: set[Verdict]) -> bool:
    return life.open and verdicts == {Verdict.PASS}


def _without(life: DoorFault, gone: str) -> DoorFault:
    """A measured fault after one of its readings was withdrawn."""
    if life.kind != "measured":
        return life
    if life.proof == gone:
        return life.model_copy(update={"proved": None, "proof": None})
    if gone not in life.readings:
        return life
    left = tuple(each for each in life.readings if each != gone)
    withdrawn = not left and life.proved is None
    return life.model_copy(
        update={"readings": left or life.readings, "withdrawn": withdrawn or life.withdrawn}
    )


def _answered(lives: Lives, asked: str, answer: str) -> Lives:
    """Adds an answer to the running search: the last one that has not ended."""
    running = [life for life in lives if life.kind == "complaint" and life.outcome is None]
    if not running:
        return lives
    return _changed(lives, running[-1].key, answers=(*running[-1].answers, (asked, answer)))


def _searched(lives: Lives, ended: search.SearchEnded, step: str | None) -> Lives:
    key, cured = f"search/{ended.tree}", ended.outcome == "cured"
    if latest_occurrence(lives, key) is None:
        life = DoorFault(key=key, kind="complaint", subject="opening", name=ended.title, step=step)
        lives = (*lives, life)
    done = cured or ended.outcome == "not_cured"
    proved = "search" if cured else None
    update: dict[str, object] = {"outcome": ended.outcome, "proved": proved, "proof": None}
    if ended.found is not None:
        update["cause"] = ended.found
        update["work"] = ended.work if done and ended.work != OTHERS_DO else None
    return _changed(lives, key, **update)


class Faults:
    """The faults of a visit, with the times and sounds of their events."""

    def __init__(self) -> None:
        self.all: Lives = ()
        self._followed: Lives = ()
        self._heard: str | None = None
        self._of_reading: dict[str, str | None] = {}

    def apply(self, event: ev.Event, lives: Lives) -> None:
        """Follows one event, after which the faults are ``lives``."""
        match event.body:
            case ev.Heard(clip=clip, meaning=meaning):
                if meaning is not None and meaning.get("kind") in ("choice", "found"):
                    self._heard = clip  # the word that affirms is not the one that stated the fault
            case ev.ReadingAccepted(reading=reading):
                self._of_reading[reading.id] = reading.clip
        if lives is self._followed:
            return
        before, self._followed = self.all, lives
        self.all = tuple(
            self._stamped(event, life, before[nth] if nth < len(before) else None)
            for nth, life in enumerate(lives)
        )

    def _stamped(self, event: ev.Event, life: DoorFault, was: DoorFault | None) -> DoorFault:
        kept = was or life.model_copy(
            update={"seq": event.seq, "at": event.at, "clip": life.clip or self._clip(life)}
        )
        update = {name: getattr(kept, name) for name in ("seq", "at", "clip")}
        for at, field in (("worked_at", "work"), ("proved_at", "proved")):
            same = getattr(kept, field) == getattr(life, field)
            update[at] = getattr(kept, at) if same else event.at
        return life.model_copy(update=update)

    def _clip(self, life: DoorFault) -> str | None:
        if life.kind == "measured":
            return self._of_reading.get(life.readings[0]) if life.readings else None
        return self._heard if life.kind == "observed" else None
