"""Folds choices and observations with their amendments."""

from __future__ import annotations

from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.reports.dossier_parts import Amendment, FactItem


class Facts:
    """Every choice and observation as it is now: feed it every event in order."""

    def __init__(self) -> None:
        self._items: dict[tuple[Subject, str], FactItem] = {}
        self._clip: str | None = None

    def take(self, event: ev.Event) -> None:
        """Follows one event."""
        match event.body:
            case ev.Heard(clip=clip, meaning=meaning):
                # The word that affirms is not the one that told it.
                if meaning is not None and meaning.get("kind") in ("choice", "fact"):
                    self._clip = clip
            case ev.FactAccepted(fact=fact):
                self._accept(event, fact)
            case office.FactAmended(subject=subject, name=name) as body:
                self._amend(event, body, (subject, name))

    def all(self) -> tuple[FactItem, ...]:
        """Every fact, in the order in which they were told last."""
        return tuple(self._items.values())

    def _accept(self, event: ev.Event, fact: Fact) -> None:
        self._items.pop((fact.subject, fact.name), None)
        self._items[fact.subject, fact.name] = FactItem(
            seq=event.seq,
            at=event.at,
            subject=fact.subject,
            name=fact.name,
            value=fact.value,
            accepted=fact.value,
            clip=self._clip,
        )

    def _amend(self, event: ev.Event, body: office.FactAmended, key: tuple[Subject, str]) -> None:
        amendment = Amendment(
            seq=event.seq, at=event.at, by=body.by, why=body.why, old=body.old, new=body.new
        )
        item = self._items.get(key)
        if item is None:
            item = FactItem(
                seq=event.seq,
                at=event.at,
                subject=body.subject,
                name=body.name,
                value=body.new,
                accepted="",
            )
        amendments = (*item.amendments, amendment)
        self._items[key] = item.model_copy(update={"value": body.new, "amendments": amendments})
