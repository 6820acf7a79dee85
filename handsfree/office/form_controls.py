"""The office's controls on a visit's page: links to correct, forms to decide and sign."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from handsfree.office.sign_off_blockers import blockers, name_of, standing, to_confirm
from handsfree.office.templating import address_of_static, fragment
from handsfree.office.visit_snapshot import VisitSnapshot
from handsfree.visit_record.facts import FactStory
from handsfree.visit_record.open_items import OpenItem
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.talk_items import Note, Utterance
from handsfree.visit_record.visit_record import VisitRecord

POLICY = "form-action 'self'; connect-src 'self'"


class FormControls:
    """The controls of one page: for one visit, one session and one person.

    ``name`` is the person's, '' while they have not given it. While the journal's chain is broken
    nothing can be changed, so no control is shown.
    """

    policy = POLICY

    def __init__(self, seen: VisitSnapshot, *, csrf: str, name: str) -> None:
        visit = seen.visit
        self._torn, self._writable = seen.torn, seen.writable
        self._about: dict[str, Any] = {
            "here": seen.here,
            "head": seen.head,
            "csrf": csrf,
            "name": name,
            "writable": seen.writable,
        }
        self._readings = {item.id: nth for nth, item in enumerate(visit.readings, start=1)}
        self._open_items = {matter.key: nth for nth, matter in enumerate(visit.open_items, start=1)}

    def head(self) -> Markup:
        """The office's own style."""
        return Markup('<link rel="stylesheet" href="{}">').format(address_of_static("office.css"))

    def top(self, visit: VisitRecord) -> Markup:
        """The navigation bar: back to the list, the person, open tasks, downloads."""
        return self._show(
            "top",
            standing=standing(visit),
            confirm=len(to_confirm(visit)),
            decide=len(visit.undecided),
            torn=self._torn,
        )

    def reading(self, item: ReadingStory) -> Markup:
        """The link to correct, strike or confirm a standing reading."""
        if item.gone is not None:
            return Markup()
        nth = self._readings[item.id]
        return self._link(f"reading/{nth}", "Correct", name_of(item))

    def utterance(self, item: Utterance) -> Markup:
        """The link to correct an utterance."""
        return self._link(f"meaning/{item.seq}", "Correct", f"line {item.seq}")

    def note(self, item: Note) -> Markup:
        """The link to write a note down."""
        return self._link(f"note/{item.seq}", "Write it down", f"the note of line {item.seq}")

    def fact(self, item: FactStory) -> Markup:
        """The link to correct a choice or an observation."""
        name = f"{item.subject}, {item.name.replace('_', ' ')}"
        return self._link(f"fact/{item.seq}", "Correct", name)

    def open_item(self, item: OpenItem) -> Markup:
        """The form to decide on an open item."""
        if not self._writable:
            return Markup()
        return self._show("matter", matter=item, nth=self._open_items[item.key])

    def sign_off(self, visit: VisitRecord) -> Markup:
        """Renders what blocks the sign-off, or the form to sign."""
        left = blockers(visit)
        return self._show(
            "sign_off",
            standing=standing(visit),
            left=left,
            readings=[each for each in left if each.kind == "reading"],
            others=[each for each in left if each.kind != "reading"],
            signed=visit.sign_off,
        )

    def _link(self, to: str, words: str, about: str) -> Markup:
        if not self._writable:
            return Markup()
        return Markup('<a class="correct" href="{}/change/{}" aria-label="{}: {}">{}</a>').format(
            self._about["here"], to, words, about, words
        )

    def _show(self, name: str, **about: Any) -> Markup:
        return fragment("desk.html", name, self._about | about)
