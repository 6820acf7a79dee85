"""Searches for a cause: the complaint, the answers, the cause that was named, and the end."""

from __future__ import annotations

from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import search_events as search


class Searched(Record):
    """One search. ``outcome`` is None while it is under way.

    ``answers`` are pairs of what was asked and the answer. ``found`` is the cause in one sentence
    and ``work`` the kind of work that its remedy is; both are None if no cause was named.
    """

    tree: str
    title: str
    answers: tuple[tuple[str, str], ...] = ()
    outcome: str | None = None
    found: str | None = None
    work: str | None = None

    @property
    def line(self) -> str:
        """The search in one line, such as 'The door slams: the arm is loose. Repaired, cured.'."""
        ended = (self.outcome or "not ended").replace("_", " ")
        if self.found is None:
            return f"{self.title}: {ended}."
        cause = self.found[:1].lower() + self.found[1:]
        return f"{self.title}: {cause} {(self.work or '').capitalize()}, {ended}."


class Searches:
    """Searches after the events so far, oldest first."""

    def __init__(self) -> None:
        self.all: list[Searched] = []

    def apply(self, event: ev.Event) -> None:
        """Follows one event."""
        match event.body:
            case search.SearchStarted(tree=tree, title=title):
                self.all.append(Searched(tree=tree, title=title))
            case search.SearchAnswered(asked=asked, answer=answer) if self.all:
                self._update(answers=(*self.all[-1].answers, (asked, answer)))
            case search.SearchEnded(tree=tree, title=title) as ended:
                if not self.all or self.all[-1].tree != tree or self.all[-1].outcome is not None:
                    self.all.append(Searched(tree=tree, title=title))  # put right at hand-over
                self._update(outcome=ended.outcome, found=ended.found, work=ended.work)

    def title(self, key: str) -> str | None:
        """The title of an open item's search ('search/slams'), None for any other item."""
        titles = {f"search/{each.tree}": each.title for each in self.all}
        return titles.get(key)

    def _update(self, **update: object) -> None:
        self.all[-1] = self.all[-1].model_copy(update=update)
