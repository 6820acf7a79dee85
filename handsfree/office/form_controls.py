"""What the office puts beside the things on a visit's page: links to correct, forms to decide."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from handsfree.office.sign_off_blockers import name_of, standing, to_confirm, undecided
from handsfree.office.templating import address_of_static, fragment
from handsfree.reports.dossier import Dossier
from handsfree.reports.dossier_parts import (
    FactItem,
    Matter,
    NoteItem,
    ReadingItem,
    UtteranceItem,
)

POLICY = "form-action 'self'; connect-src 'self'"


class Desk:
    """The controls of one page: for one visit, one session and one person.

    ``here`` is the visit's address, ``head`` the journal's hash that every form carries, ``name``
    the person's, '' while they have not told it. While the journal's chain is broken
    (``writable`` false) nothing can be changed, so no control is shown.
    """

    policy = POLICY

    def __init__(
        self, dossier: Dossier, *, here: str, head: str, csrf: str, name: str, writable: bool
    ) -> None:
        self._dossier = dossier
        self._about: dict[str, Any] = {
            "here": here,
            "head": head,
            "csrf": csrf,
            "name": name,
            "writable": writable,
        }
        self._writable = writable
        self._readings = {item.id: nth for nth, item in enumerate(dossier.readings, start=1)}
        self._matters = {matter.key: nth for nth, matter in enumerate(dossier.matters, start=1)}

    def head(self) -> Markup:
        """The office's own style."""
        return Markup('<link rel="stylesheet" href="{}">').format(address_of_static("office.css"))

    def top(self, dossier: Dossier) -> Markup:
        """The way back, who works here, what is to be done, what to hand on."""
        return self._show(
            "top",
            standing=standing(dossier),
            confirm=len(to_confirm(dossier)),
            decide=len(dossier.undecided),
            torn=_is_torn(dossier),
        )

    def reading(self, item: ReadingItem) -> Markup:
        """The way to correct, strike or confirm a reading that stands."""
        if item.gone is not None:
            return Markup()
        nth = self._readings[item.id]
        return self._link(f"reading/{nth}", "Correct", name_of(item))

    def utterance(self, item: UtteranceItem) -> Markup:
        """The way to say what an utterance was."""
        return self._link(f"meaning/{item.seq}", "Correct", f"line {item.seq}")

    def note(self, item: NoteItem) -> Markup:
        """The way to write a note down."""
        return self._link(f"note/{item.seq}", "Write it down", f"the note of line {item.seq}")

    def fact(self, item: FactItem) -> Markup:
        """The way to correct a choice or an observation."""
        name = f"{item.subject}, {item.name.replace('_', ' ')}"
        return self._link(f"fact/{item.seq}", "Correct", name)

    def matter(self, item: Matter) -> Markup:
        """The decision itself: a visit has few of them."""
        if not self._writable:
            return Markup()
        return self._show("matter", matter=item, nth=self._matters[item.key])

    def sign_off(self, dossier: Dossier) -> Markup:
        """What is still to do, or the form that signs the visit off."""
        left = undecided(dossier)
        return self._show(
            "sign_off",
            standing=standing(dossier),
            left=left,
            readings=[each for each in left if each.kind == "reading"],
            others=[each for each in left if each.kind != "reading"],
            signed=dossier.sign_off,
        )

    def _link(self, to: str, words: str, about: str) -> Markup:
        if not self._writable:
            return Markup()
        return Markup('<a class="correct" href="{}/change/{}" aria-label="{}: {}">{}</a>').format(
            self._about["here"], to, words, about, words
        )

    def _show(self, name: str, **about: Any) -> Markup:
        return fragment("desk.html", name, self._about | about)


def _is_torn(dossier: Dossier) -> bool:
    """Whether nothing is wrong but an unfinished last line, which can be set aside."""
    broken = dossier.verification.broken
    return broken is not None and broken.reason.startswith("the line is unfinished")
