"""The office's controls on a visit's page: links to correct, forms to decide and sign."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from handsfree.office.review_plan import review_plan
from handsfree.office.sign_off_blockers import blockers, name_of, standing
from handsfree.office.spoken_words import spoken_words
from handsfree.office.templating import address_of_static, fragment
from handsfree.office.visit_snapshot import VisitSnapshot
from handsfree.reports.visit_fact_rows import VisitFactRow
from handsfree.visit_record.facts import FactStory
from handsfree.visit_record.open_items import OpenItem
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.talk_items import Note, Utterance
from handsfree.visit_record.visit_record import VisitRecord

POLICY = "form-action 'self'; connect-src 'self'"


class FormControls:
    """The controls of one page: for one visit, one session and one person.

    ``name`` is the person's name, '' until given; ``types_up`` is true if a second ear can fill in
    spoken words. While the journal's chain is broken nothing can be changed, so no control is
    shown.
    """

    policy = POLICY

    def __init__(self, seen: VisitSnapshot, *, csrf: str, name: str, types_up: bool) -> None:
        visit = seen.visit
        self._seen, self._writable, self._types_up = seen, seen.writable, types_up
        self._about: dict[str, Any] = {
            "here": seen.here,
            "head": seen.head,
            "csrf": csrf,
            "name": name,
            "writable": seen.writable,
            "standing": standing(visit),
            "plan": review_plan(visit),
            "left": blockers(visit),
            "signed": visit.sign_off,
        }
        self._readings = {item.id: nth for nth, item in enumerate(visit.readings, start=1)}
        self._open_items = {matter.key: nth for nth, matter in enumerate(visit.open_items, start=1)}

    def head(self) -> Markup:
        """The office's own style and script."""
        return Markup('<link rel="stylesheet" href="{}"><script src="{}" defer></script>').format(
            address_of_static("office.css"), address_of_static("office.js")
        )

    def top(self, visit: VisitRecord) -> Markup:
        """The navigation, and the bar with the progress of the review and the next step."""
        decide = [self._open_items[item.key] for item in visit.undecided]
        return self._show("top", decide=decide, torn=self._seen.torn)

    def reading(self, item: ReadingStory) -> Markup:
        """The link to correct, strike or confirm a valid reading."""
        if item.gone is not None:
            return Markup()
        nth = self._readings[item.id]
        return self._link(f"reading/{nth}", "Correct", name_of(item))

    def utterance(self, item: Utterance) -> Markup:
        """The link to correct an utterance."""
        return self._link(f"meaning/{item.seq}", "Correct", f"line {item.seq}")

    def note(self, item: Note) -> Markup:
        """The field for the text of a note; a link to correct a typed one."""
        if item.clip is None:
            return self._link(f"note/{item.seq}", "Correct", f"the note of line {item.seq}")
        return self._type_up(item.seq)

    def fact(self, item: FactStory) -> Markup:
        """The link to correct a choice or an observation."""
        name = f"{item.subject}, {item.name.replace('_', ' ')}"
        return self._link(f"fact/{item.seq}", "Correct", name)

    def visit_fact(self, row: VisitFactRow) -> Markup:
        """The link to correct or strike out a visit fact."""
        return self._link(f"noted/{row.seq}", "Correct", row.name)

    def fill_in(self) -> Markup:
        """The link to fill in a visit fact that nobody stated."""
        return self._link("noted/0", "Fill in", "what is not noted yet")

    def open_item(self, item: OpenItem) -> Markup:
        """The form to decide on an open item, and the field for the text of its reason."""
        if not self._writable:
            return Markup()
        reason = self._type_up(item.reason_seq) if item.reason_clip else Markup()
        return reason + self._show("matter", matter=item, nth=self._open_items[item.key])

    def sign_off(self, visit: VisitRecord) -> Markup:
        """The reasons against a sign-off, or the form to sign."""
        others = [each for each in self._about["left"] if each.kind != "reading"]
        return self._show("sign_off", others=others)

    def _type_up(self, seq: int | None) -> Markup:
        """The field for the words of a note or a reason, which a second ear may fill in."""
        words = spoken_words(self._seen.visit, seq or 0)
        if words is None or not self._writable:
            return Markup()
        wanted = self._types_up and not words.typed_up and not words.amendments
        ear = f"{self._seen.here}/typed-up/{words.seq}" if wanted else ""
        return self._show("type_up", words=words, ear=ear)

    def _link(self, to: str, words: str, about: str) -> Markup:
        if not self._writable:
            return Markup()
        return Markup('<a class="correct" href="{}/change/{}" aria-label="{}: {}">{}</a>').format(
            self._about["here"], to, words, about, words
        )

    def _show(self, name: str, **about: Any) -> Markup:
        return fragment("desk.html", name, self._about | about)
