"""Folds what was heard and said: utterances with what came of them, notes, cautions, moments."""

from __future__ import annotations

from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.reports.dossier_parts import (
    Amendment,
    CautionItem,
    FaultItem,
    Moment,
    NoteItem,
    SaidItem,
    UtteranceItem,
)
from handsfree.reports.office_text import came_of, step_words, taken_for

_REFUSALS = ("negative", "disregard", "correction")


class Talk:
    """What was heard and said after the events so far: feed it every event in order."""

    def __init__(self) -> None:
        self.utterances: dict[int, UtteranceItem] = {}
        """By the number of their event."""
        self.said: list[SaidItem] = []
        self.notes: dict[int, NoteItem] = {}
        self.cautions: list[CautionItem] = []
        self.faults: list[FaultItem] = []
        self.moments: list[Moment] = []
        self.turn: int | None = None
        """The number of the utterance or run that the events belong to now."""
        self.again = 0
        """How often something was not understood or refused since a value was filed."""
        self._came_of: dict[int, list[str]] = {}
        self._note_in: dict[int, int] = {}
        self._given: dict[str, int] = {}
        self._step: str | None = None
        self._standing_by = False

    def take(self, event: ev.Event) -> None:
        """Follows one event."""
        body, seq, at = event.body, event.seq, event.at
        match body:
            case ev.Heard():
                self._hear(event, body)
            case ev.CycleTimed():
                self.turn = seq
            case ev.TypedUp(heard=heard, text=text):
                self._type_up(heard, text)
            case ev.VisitOpened():
                self._moment(event, "the visit begins")
            case ev.VisitResumed():
                self.turn = None
                self._moment(event, "the visit goes on after a break")
            case ev.TailRecovered(kept_as=kept_as, bytes=size):
                self._moment(event, f"an unfinished line of {size} bytes was set aside: {kept_as}")
            case ev.Said(text=text, role=role, aloud=aloud):
                self.said.append(SaidItem(seq=seq, at=at, text=text, role=role, aloud=aloud))
            case ev.StepEntered(key=key):
                self._step = key
                self._moment(event, step_words(key))
            case ev.CautionGiven(key=key, text=text, word=word):
                caution = CautionItem(seq=seq, at=at, key=key, text=text, word=word)
                self._given[key] = len(self.cautions)
                self.cautions.append(caution)
            case ev.CautionAcknowledged(key=key):
                self._answer(event, key)
            case ev.NoteKept(step_key=step, text=text, clip=clip):
                self.notes[seq] = NoteItem(
                    seq=seq, at=at, step=step, text=text, now=text, clip=clip
                )
                self._note_in[self.turn or 0] = seq
                self._kept("note")
            case ev.StepEnded(reason=str()):
                self._kept("reason")
            case ev.StoodBy():
                self._standing_by = True
                self._moment(event, came_of(body) or "")
            case ev.CarriedOn():
                self._standing_by = False
                self._moment(event, "carried on")
            case ev.Fault(what=what, detail=detail, lost_s=lost_s):
                fault = FaultItem(seq=seq, at=at, what=what, detail=detail, lost_s=lost_s)
                self.faults.append(fault)
            case ev.VisitClosed():
                self._moment(event, "the visit is closed")
            case office.MeaningAmended() | office.NoteAmended():
                self._amend(event, body)
            case ev.ReadingAccepted() | ev.FactAccepted():
                self.again = 0
        words = came_of(body)
        turn = body.heard if isinstance(body, ev.SecondHeard | ev.TypedUp) else self.turn
        if turn is not None and words is not None:
            self._came_of.setdefault(turn, []).append(words)

    def all_utterances(self) -> tuple[UtteranceItem, ...]:
        """Every utterance with what came of it, oldest first."""
        return tuple(
            item.model_copy(update={"came_of": tuple(self._came_of.get(seq, ()))})
            for seq, item in self.utterances.items()
        )

    def _hear(self, event: ev.Event, body: ev.Heard) -> None:
        meaning = body.meaning
        start_s, end_s = body.start_s, body.end_s
        self.turn = event.seq
        self.utterances[event.seq] = UtteranceItem(
            seq=event.seq,
            at=event.at,
            heard=body.text,
            taken_for=taken_for(meaning),
            understood=meaning is not None,
            ignored=self._standing_by and (meaning is None or meaning.get("kind") != "carry_on"),
            step=self._step,
            clip=body.clip,
            start_s=start_s,
            seconds=None if start_s is None or end_s is None else end_s - start_s,
        )
        if not self._standing_by and (meaning is None or meaning.get("kind") in _REFUSALS):
            self.again += 1

    def _answer(self, event: ev.Event, key: str) -> None:
        """The last caution of that key was answered by the utterance of this turn."""
        nth = self._given.get(key)
        if nth is not None:
            clip = self.utterances[self.turn].clip if self.turn in self.utterances else None
            update = {"answered_seq": event.seq, "answered_at": event.at, "clip": clip}
            self.cautions[nth] = self.cautions[nth].model_copy(update=update)

    def _kept(self, what: str) -> None:
        """What was no sentence was meant to be kept as it is."""
        heard = self.utterances.get(self.turn or 0)
        if heard is not None and not heard.understood:
            self.utterances[heard.seq] = heard.model_copy(update={"kept_as": what})
            self.again = max(0, self.again - 1)

    def _type_up(self, heard: int, text: str) -> None:
        note = self.notes.get(self._note_in.get(heard, 0))
        if note is not None:
            self.notes[note.seq] = note.model_copy(update={"typed_up": text})

    def _amend(self, event: ev.Event, body: office.MeaningAmended | office.NoteAmended) -> None:
        amendment = Amendment(
            seq=event.seq, at=event.at, by=body.by, why=body.why, old=body.old, new=body.new
        )
        if isinstance(body, office.NoteAmended):
            note = self.notes.get(body.seq)
            if note is not None:
                update: dict[str, object] = {"now": body.new}
                update["amendments"] = (*note.amendments, amendment)
                self.notes[body.seq] = note.model_copy(update=update)
        elif (heard := self.utterances.get(body.seq)) is not None:
            added = {"amendments": (*heard.amendments, amendment)}
            self.utterances[body.seq] = heard.model_copy(update=added)

    def _moment(self, event: ev.Event, what: str) -> None:
        self.moments.append(Moment(seq=event.seq, at=event.at, kind=event.body.kind, what=what))
