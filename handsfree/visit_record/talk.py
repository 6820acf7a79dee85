"""The talk of a visit: utterances with their results, notes, cautions, faults."""

from __future__ import annotations

from handsfree.errors import HandsfreeError
from handsfree.journal import controller_events as controller
from handsfree.journal import events as ev
from handsfree.journal import fault_events as fault
from handsfree.journal import office_events as office
from handsfree.journal import paper_events as paper
from handsfree.journal import search_events as search
from handsfree.journal.motion_events import LeafMeasured
from handsfree.journal.plain_words import step_words, words_of
from handsfree.language.wording import wording
from handsfree.visit_record.amendment import amendment_of
from handsfree.visit_record.controller_set_up import set_up_line
from handsfree.visit_record.event_words import (
    fact_words,
    reading_words,
    taken_for,
    visit_fact_line,
)
from handsfree.visit_record.kept_words import KeptAs, kept_as
from handsfree.visit_record.progress import Course
from handsfree.visit_record.talk_items import (
    Caution,
    Note,
    Occurrence,
    RecordedFault,
    Spoken,
    Utterance,
)

_REFUSALS = ("negative", "disregard", "correction")
_ENDED = {"done": "done", "skipped": "skipped", "failed": "left failing", "left_out": "left out"}


class Talk:
    """The talk in the events so far."""

    def __init__(self) -> None:
        self.said: list[Spoken] = []
        self.notes: dict[int, Note] = {}
        self.cautions: list[Caution] = []
        self.answers: list[str] = []
        """Each answered caution with its answer, in the order of the answers."""
        self.faults: list[RecordedFault] = []
        self.occurrences: list[Occurrence] = []
        self.refusals = 0
        """Number of utterances refused or not understood since a value was filed."""
        self._utterances: dict[int, Utterance] = {}
        self._turn: int | None = None  # the utterance or run to which the events now belong
        self._effects_of: dict[int, list[str]] = {}
        self._note_in: dict[int, int] = {}
        self._given: dict[str, int] = {}

    def apply(self, event: ev.Event, course: Course) -> None:
        """Follows one event; ``course`` is the position of the visit after it."""
        body, seq, at = event.body, event.seq, event.at
        match body:
            case ev.Heard():
                self._hear(event, body, course)
            case ev.CycleTimed():
                self._turn = seq
            case ev.TypedUp(heard=heard, text=text):
                self._type_up(heard, text)
            case ev.VisitOpened():
                self._occur(event, "the visit begins")
            case ev.VisitResumed():
                self._turn = None
                self._occur(event, "the visit goes on after a break")
            case ev.TailRecovered(kept_as=file, bytes=size):
                self._occur(event, f"an unfinished line of {size} bytes was set aside: {file}")
            case ev.Said(text=text, role=role, aloud=aloud):
                self.said.append(Spoken(seq=seq, at=at, text=text, role=role, aloud=aloud))
            case ev.StepEntered(key=key):
                self._occur(event, step_words(key))
            case ev.CautionGiven(key=key, text=text, word=word):
                self._given[key] = len(self.cautions)
                self.cautions.append(Caution(seq=seq, at=at, key=key, text=text, word=word))
            case ev.CautionAcknowledged(key=key, word=word):
                self._answer(event, key, word)
            case ev.NoteKept(step_key=step, text=text, clip=clip):
                note = Note(seq=seq, at=at, step=step, text=text, now=text, clip=clip)
                self.notes[seq] = note
                self._note_in[self._turn or 0] = seq
            case ev.StoodBy() | ev.CarriedOn():
                self._occur(event, effect_of(body) or "")
            case ev.Fault(what=what, detail=detail, lost_s=lost_s):
                fault = RecordedFault(seq=seq, at=at, what=what, detail=detail, lost_s=lost_s)
                self.faults.append(fault)
            case ev.VisitClosed():
                self._occur(event, "the visit is closed")
            case office.NoteAmended(seq=line, new=new) if line in self.notes:
                note = self.notes[line]
                amended = {"now": new, "amendments": (*note.amendments, amendment_of(event, body))}
                self.notes[line] = note.model_copy(update=amended)
            case office.MeaningAmended(seq=line) if line in self._utterances:
                heard_as = self._utterances[line]
                amendments = (*heard_as.amendments, amendment_of(event, body))
                self._utterances[line] = heard_as.model_copy(update={"amendments": amendments})
            case ev.ReadingAccepted() | ev.FactAccepted():
                self.refusals = 0
        if (kept := kept_as(body)) is not None:
            self._keep_as(kept)
        words = effect_of(body)
        turn = body.heard if isinstance(body, ev.SecondHeard | ev.TypedUp) else self._turn
        if turn is not None and words is not None:
            self._effects_of.setdefault(turn, []).append(words)

    def utterances(self) -> tuple[Utterance, ...]:
        """Every utterance with its results, oldest first."""
        return tuple(
            each.model_copy(update={"came_of": tuple(self._effects_of.get(seq, ()))})
            for seq, each in self._utterances.items()
        )

    def _hear(self, event: ev.Event, body: ev.Heard, course: Course) -> None:
        meaning, start_s, end_s = body.meaning, body.start_s, body.end_s
        standing_by = course.standing_by is not None
        self._turn = event.seq
        self._utterances[event.seq] = Utterance(
            seq=event.seq,
            at=event.at,
            heard=body.text,
            taken_for=taken_for(meaning),
            understood=meaning is not None,
            ignored=standing_by and (meaning is None or meaning.get("kind") != "carry_on"),
            step=course.at,
            clip=body.clip,
            start_s=start_s,
            seconds=None if start_s is None or end_s is None else end_s - start_s,
        )
        if not standing_by and (meaning is None or meaning.get("kind") in _REFUSALS):
            self.refusals += 1

    def _answer(self, event: ev.Event, key: str, word: str) -> None:
        """Records that the utterance of this turn answered the last caution with that key."""
        nth = self._given.get(key)
        self.answers.append(f"{key if nth is None else self.cautions[nth].text} Answered: {word}.")
        if nth is not None:
            said = self._utterances.get(self._turn or 0)
            update = {
                "answered_seq": event.seq,
                "answered_at": event.at,
                "clip": said.clip if said is not None else None,
            }
            self.cautions[nth] = self.cautions[nth].model_copy(update=update)

    def _keep_as(self, what: KeptAs) -> None:
        """Records that words outside the grammar were meant to be kept verbatim."""
        heard = self._utterances.get(self._turn or 0)
        if heard is not None and not heard.understood:
            self._utterances[heard.seq] = heard.model_copy(update={"kept_as": what})
            self.refusals = max(0, self.refusals - 1)

    def _type_up(self, heard: int, text: str) -> None:
        note = self.notes.get(self._note_in.get(heard, 0))
        if note is not None:
            self.notes[note.seq] = note.model_copy(update={"typed_up": text})

    def _occur(self, event: ev.Event, what: str) -> None:
        self.occurrences.append(
            Occurrence(seq=event.seq, at=event.at, kind=event.body.kind, what=what)
        )


def effect_of(body: ev.Body) -> str | None:
    """The effect of an event in plain words; None if it is of no interest to readers."""
    match body:
        case ev.ReadingAccepted(reading=reading):
            return f"filed: {reading_words(reading)}"
        case ev.ReadingWithdrawn(reading_id=reading_id):
            return f"reading {reading_id} taken back"
        case ev.FactAccepted(fact=fact):
            return f"filed: {fact_words(fact)}"
        case ev.FactWithdrawn(subject=subject, name=name):
            return f"taken back: {subject}, {words_of(name)}"
        case ev.FactsChallenged(why=why):
            return f"challenged: {_sentence(why)}"
        case ev.CautionAcknowledged(word=word):
            return f"caution answered: {word}"
        case ev.StepEnded(key=key, outcome=outcome, reason=reason, led=led):
            because = f", because: {reason}" if reason else ""
            leads = f", leads to: {step_words(led.to)}" if led else ""
            return f"step {_ENDED[outcome]}: {step_words(key)}{because}{leads}"
        case paper.VisitFactKept(subject=subject, name=name, value=value):
            return f"noted: {visit_fact_line(name, subject, value)}"
        case paper.VisitFactWithdrawn(subject=subject, name=name):
            return f"taken back: {visit_fact_line(name, subject)}"
        case ev.NoteKept():
            return "note kept"
        case ev.TypedUp(text=text):
            return f"typed up by machine: “{text}”"
        case ev.SecondHeard(outcome="agreed"):
            return "the second ear heard the same"
        case ev.SecondHeard(outcome="differed", text=text):
            return f"the second ear heard “{text}”"
        case LeafMeasured(leaf=leaf, log=log, known_angle_deg=angle):
            told = [] if angle is None else [f"open angle {angle} degrees by a square"]
            told += [f"{body.cycles} cycles"] if body.cycles > 1 else []
            flags = dict.fromkeys(flag for cycle in body.measured for flag in cycle.flags)
            told += [body.problem] if body.problem else list(flags)
            about = f" ({', '.join(told)})" if told else ""
            return f"log read, {leaf}: {log or 'none'}{about}"
        case ev.StoodBy(stop=stop):
            return "stopped; it listens for 'carry on'" if stop else "stands by"
        case ev.CarriedOn():
            return "carried on"
        case ev.SpeechSet(level=level):
            return f"speech set to {level}"
        case ev.ConfirmSet(confirm=confirm, why=why):
            which = "every value" if confirm == "every" else "doubtful values only"
            return f"affirm asked for {which}: {words_of(why)}"
        case ev.GroupOpened(group=group):
            return f"asked one by one: {step_words(group)}"
        case ev.OpenSettled(key=key, word=word):
            by = f", {body.by}" if body.by else ""
            return f"stays open: {step_words(key)}, {words_of(word)}{by}"
        case fault.FaultFound(subject=subject, name=name):
            return f"fault found: {subject}, {words_of(name)}"
        case fault.FaultWorked(key=key, work=work, part=part):
            return f"{words_of(work)}{f' ({words_of(part)})' if part else ''}: {step_words(key)}"
        case fault.FaultProved(key=key, by=by):
            return f"proved by {words_of(by)}: {step_words(key)}"
        case search.SearchStarted(title=title):
            return f"search for the cause begun: {title}"
        case search.SearchAnswered(asked=asked, answer=answer):
            return f"{asked} Answered: {words_of(answer)}."
        case search.SearchEnded(outcome=outcome, found=found):
            return f"search ended, {words_of(outcome)}{f': {found}' if found else ''}"
        case controller.EntryEnded():
            return f"controller: {set_up_line(body)}"
        case controller.CodeShown(code=code, means=means):
            return f"the controller shows {code}: {means or 'not in the guide'}"
        case ev.VisitClosed():
            return "visit closed"
        case ev.Said(role="readback", text=text):
            return f"read back: {text}"
        case _:
            return None


def _sentence(name: str) -> str:
    """The sentence with that name; any other text unchanged."""
    try:
        return wording().say(name)
    except HandsfreeError:
        return name
