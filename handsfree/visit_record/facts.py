"""The choices and observations of a visit, with the office's corrections."""

from __future__ import annotations

from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.visit_record.amendment import Amendment, amendment_of


class FactStory(Record):
    """The history of a choice or an observation: the present ``value``, and the ``accepted`` one.

    Values are in snake case. ``accepted`` is '' for a fact that only the office entered.
    """

    seq: int
    at: str
    subject: Subject
    name: str
    value: str
    accepted: str
    clip: str | None = None
    amendments: tuple[Amendment, ...] = ()


class Facts:
    """The choices and observations after the events so far."""

    def __init__(self) -> None:
        self.stories: dict[tuple[Subject, str], FactStory] = {}
        """By subject and name, in the order of the last affirmation."""
        self.values: dict[tuple[Subject, str], Fact] = {}
        """The present facts, the last affirmed or amended one at the end."""
        self._clip: str | None = None

    def apply(self, event: ev.Event) -> None:
        """Follows one event."""
        match event.body:
            case ev.Heard(clip=clip, meaning=meaning):
                # The word that affirms a fact is not the one that stated it.
                if meaning is not None and meaning.get("kind") in ("choice", "fact"):
                    self._clip = clip
            case ev.FactAccepted(fact=fact):
                key = (fact.subject, fact.name)
                self._set(fact)
                self.stories.pop(key, None)
                self.stories[key] = self._story(event, fact, fact.value, self._clip)
            case ev.FactWithdrawn(subject=subject, name=name):
                self.values.pop((subject, name), None)
                self.stories.pop((subject, name), None)
            case office.FactAmended(subject=subject, name=name, new=value) as body:
                fact, key = Fact(subject=subject, name=name, value=value), (subject, name)
                self._set(fact)
                story = self.stories.get(key) or self._story(event, fact, "", None)
                amendments = (*story.amendments, amendment_of(event, body))
                update = {"value": value, "amendments": amendments}
                self.stories[key] = story.model_copy(update=update)

    def _set(self, fact: Fact) -> None:
        self.values.pop((fact.subject, fact.name), None)
        self.values[fact.subject, fact.name] = fact

    @staticmethod
    def _story(event: ev.Event, fact: Fact, accepted: str, clip: str | None) -> FactStory:
        return FactStory(
            seq=event.seq,
            at=event.at,
            subject=fact.subject,
            name=fact.name,
            value=fact.value,
            accepted=accepted,
            clip=clip,
        )
