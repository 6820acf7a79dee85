"""The visit facts and photos of a visit, from its events."""

from __future__ import annotations

from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal import paper_events as paper
from handsfree.visit_record.amendment import Amendment, amendment_of


class VisitFactStory(Record):
    """A fact of visit_facts.toml in its present state.

    ``at`` is the time of its line, which is the value of a moment (UTC). ``value`` is '' for a
    moment, and for words kept only as sound; ``typed_up`` is then the second ear's unchecked
    transcript, or ''. ``earlier`` holds the values that it replaced, oldest first. ``step`` is the
    key of the task at that time. ``amendments`` are those of the office; for a struck fact the last
    one struck it out.
    """

    seq: int
    at: str
    subject: Subject
    name: str
    value: str
    typed_up: str = ""
    step: str | None = None
    clip: str | None = None
    earlier: tuple[str, ...] = ()
    amendments: tuple[Amendment, ...] = ()


class Photo(Record):
    """A photo of the visit: its file in the folder 'pictures', its hash, its size in pixels."""

    seq: int
    at: str
    file: str
    sha256: str
    width: int
    height: int
    called: str = ""
    taken_at: str | None = None
    step: str | None = None


class VisitFacts:
    """The facts and photos in the events so far."""

    def __init__(self) -> None:
        self.photos: list[Photo] = []
        self.struck: list[VisitFactStory] = []
        """Facts that the office struck out."""
        self._stories: dict[int, VisitFactStory] = {}  # by event number
        self._heard = 0
        self._told_in: dict[int, int] = {}

    @property
    def stories(self) -> tuple[VisitFactStory, ...]:
        """The valid facts in the order of the table; each value of a fact with ``many``, oldest
        first.
        """
        order = {name: nth for nth, name in enumerate(VISIT_FACTS)}
        return tuple(
            sorted(self._stories.values(), key=lambda s: (order[s.name], s.subject, s.seq))
        )

    def apply(self, event: ev.Event) -> None:
        """Follows one event."""
        match event.body:
            case ev.Heard():
                self._heard = event.seq
            case ev.TypedUp(heard=heard, text=text):
                story = self._stories.get(self._told_in.get(heard, 0))
                if story is not None:
                    self._stories[story.seq] = story.model_copy(update={"typed_up": text})
            case paper.VisitFactKept() as kept:
                self._keep(event, kept)
            case paper.VisitFactWithdrawn(subject=subject, name=name):
                self._take(subject, name)
            case office.VisitFactAmended() as amended:
                self._amend(event, amended)
            case paper.PhotoKept() as photo:
                shown = photo.model_dump(include=set(Photo.model_fields))
                self.photos.append(Photo(seq=event.seq, at=event.at, step=photo.step_key, **shown))

    def _keep(self, event: ev.Event, kept: paper.VisitFactKept) -> None:
        earlier: tuple[str, ...] = ()
        if not VISIT_FACTS[kept.name].many:
            before = self._take(kept.subject, kept.name)
            if before is not None:
                earlier = (*before.earlier, before.value or before.at)
        self._told_in[self._heard] = event.seq
        self._stories[event.seq] = VisitFactStory(
            seq=event.seq,
            at=event.at,
            subject=kept.subject,
            name=kept.name,
            value=kept.value,
            step=kept.step_key,
            clip=kept.clip,
            earlier=earlier,
        )

    def _amend(self, event: ev.Event, amended: office.VisitFactAmended) -> None:
        seq = event.seq if amended.seq is None else amended.seq
        story = self._stories.pop(seq, None) or VisitFactStory(
            seq=seq, at=event.at, subject=amended.subject, name=amended.name, value=""
        )
        amendments = (*story.amendments, amendment_of(event, amended))
        moment = VISIT_FACTS[amended.name].takes == "moment"
        update = {
            "value": "" if moment else amended.new,
            "at": amended.new if moment else story.at,
            "amendments": amendments,
        }
        if amended.new:
            self._stories[seq] = story.model_copy(update=update)
        else:
            self.struck.append(story.model_copy(update={"amendments": amendments}))

    def _take(self, subject: Subject, name: str) -> VisitFactStory | None:
        """Removes and returns the last stated value of that fact."""
        found = [s.seq for s in self._stories.values() if (s.subject, s.name) == (subject, name)]
        return self._stories.pop(max(found)) if found else None
