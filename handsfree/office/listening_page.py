"""The page for listening to readings, the most doubtful first."""

from __future__ import annotations

from typing import NamedTuple

from markupsafe import Markup

from handsfree.job.finding import Finding
from handsfree.journal.plain_words import words_of
from handsfree.office.pages import Person, about_visit
from handsfree.office.review_plan import review_plan
from handsfree.office.sign_off_blockers import blockers
from handsfree.office.templating import page
from handsfree.office.visit_snapshot import VisitSnapshot
from handsfree.reports.embedded_sound import LinkedSound
from handsfree.reports.reading_rows import verdict_of
from handsfree.reports.run_picture import run_view
from handsfree.timing.cycle import SPANS
from handsfree.visit_record.event_words import quantity_words, with_unit
from handsfree.visit_record.reading_story import ReadingStory

MOST_CARDS = 150
"""Largest number of readings on one listening page."""


class ClipSpan(NamedTuple):
    """The part of a run's clip that contains one time (s from the clip's start)."""

    from_s: float
    to_s: float
    words: str


class Card(NamedTuple):
    """A reading to listen to; for one timed by ear only its part of the run is played.

    ``of_sample`` is true if it was drawn for a sample and is not doubtful itself.
    """

    item: ReadingStory
    what: str
    place: str
    kind: str
    sound: str | None
    verdicts: tuple[str, ...]
    piece: ClipSpan | None
    picture: Markup | None
    of_sample: bool


def listen_page(seen: VisitSnapshot, who: Person) -> str:
    """The page of readings to listen to, most doubtful first, and the step that follows."""
    plan, sounds = review_plan(seen.visit), _ByEar(seen)
    asked = plan.listen[:MOST_CARDS] if seen.writable else ()
    found = seen.visit.findings_by_attempt()
    cards = tuple(
        _card(item, seen, sounds, found.get(item.attempt, ()), item in plan.sample)
        for item in asked
    )
    return page(
        "listen.html",
        **about_visit(seen, who, f"{seen.here}/listen"),
        cards=cards,
        plan=plan,
        left=blockers(seen.visit),
        quantity=quantity_words,
    )


class _ByEar:
    """The timed runs of a visit, each with its picture, drawn only once."""

    def __init__(self, seen: VisitSnapshot) -> None:
        self._sound = LinkedSound(seen.folder, f"{seen.here}/clips/")
        self._runs = {
            time.reading_id: run
            for run in seen.visit.runs
            for time in run.times
            if time.reading_id is not None
        }
        self._drawn: dict[int, Markup | None] = {}

    def of(self, item: ReadingStory) -> tuple[ClipSpan | None, Markup | None]:
        """The part of the run that gave a reading, and its picture; None without a run."""
        run, span = self._runs.get(item.id), SPANS.get(item.now.quantity)
        if run is None or span is None:
            return None, None
        at = {m.moment: m.at_s for m in run.marks if m.leaf is item.now.subject}
        if run.seq not in self._drawn:
            self._drawn[run.seq] = run_view(run, self._sound).svg
        if span[0] not in at or span[1] not in at:
            return None, self._drawn[run.seq]
        begin, end = at[span[0]], at[span[1]]
        words = f"from “{span[0]}” at {begin:.2f} s to “{span[1]}” at {end:.2f} s of its recording"
        return ClipSpan(max(0.0, begin - 0.5), end + 0.7, words), self._drawn[run.seq]


def _card(
    item: ReadingStory,
    seen: VisitSnapshot,
    by_ear: _ByEar,
    of_attempt: tuple[Finding, ...],
    of_sample: bool,
) -> Card:
    piece, picture = by_ear.of(item)
    kinds = [verdict_of(found)[0] for found in of_attempt]
    kind = next((k for k in ("fail", "close", "advised", "unjudged") if k in kinds), "pass")
    return Card(
        item=item,
        what=quantity_words(item.now.quantity),
        place=f"{item.place}, run {item.now.run}",
        kind=kind if kinds else "none",
        sound=seen.sound(item.clip),
        verdicts=tuple(_verdict(found) for found in of_attempt),
        piece=piece,
        picture=picture,
        of_sample=of_sample,
    )


def _verdict(found: Finding) -> str:
    limit = "" if found.limit is None else f", {found.bound} {with_unit(found.limit, found.unit)}"
    return f"{words_of(found.rule)}: {verdict_of(found)[1]}{limit}"
