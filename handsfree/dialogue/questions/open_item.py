"""Asks what to do about each open item, then ends the visit."""

from __future__ import annotations

from typing import ClassVar

from handsfree.checks.evaluate import judge
from handsfree.checks.headline import Tally, headline, tally
from handsfree.dialogue import sentences
from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.open_faults import not_in_order
from handsfree.dialogue.open_items import OpenItem, skipped
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev
from handsfree.language.meaning import Word, Worked
from handsfree.language.wording import sentence
from handsfree.visit_record.faults import latest_occurrence


class OpenItemQuestion(Question):
    """Asks at the end of the visit what to do about an open item.

    It cannot be dropped: the visit closes only after a decision on every open item.
    """

    expected: ClassVar[AnswerSet] = AnswerSet(
        words=frozenset({"done_later", "not_applicable", "refused", "put_right", "tagged_out"})
    )
    admits: ClassVar[frozenset[str]] = frozenset(
        {*("go_to", "withdraw_run", "go_back", "withdraw"), *("found", "worked", "put_right")}
    )

    item: OpenItem

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Keeps the decision on the item and continues with the next one."""
        word = heard.meaning
        if not isinstance(word, Word) or word.kind not in self.expected.words:
            return heard
        if word.kind == "put_right":
            return self._put_right(turn, heard)
        if word.kind == "not_applicable" and self.item.kind != "skipped":
            turn.tell("not_not_applicable", "repair")
            self.repeat(turn)
            return None
        turn.keep(ev.OpenSettled.model_validate({"key": self.item.key, "word": word.kind}))
        spoken = turn.words.say(word.kind)
        turn.tell("settled", "status", what=sentence(self.item.what).rstrip("."), word=spoken)
        close(turn)
        return None

    def _put_right(self, turn: Turn, heard: Heard) -> Heard | None:
        """The utterance, completed with the fault that it is about; unchanged for a skipped
        step.
        """
        if latest_occurrence(turn.state.progress.faults, self.item.key) is None:
            self.repeat(turn)
            return None
        said = Worked(value="put_right", about=self.item.key)
        return heard.model_copy(update={"meaning": said})

    def repeat(self, turn: Turn) -> None:
        """Asks about the item.

        For example: 'Step skipped: swings freely. Done later, not applicable, or refused?'
        """
        turn.wait_for(self)
        name = "open_ask" if self.item.kind == "skipped" else "open_ask_wrong"
        turn.tell(name, "readback", what=sentence(_with_kind(turn, self.item)).rstrip("."))

    def hint(self, turn: Turn) -> str:
        """The possible decisions on the item."""
        return turn.words.say("wait_word" if self.item.kind == "skipped" else "wait_word_wrong")


def close(turn: Turn) -> None:
    """Asks about each open item, and closes the visit when none is left."""
    items = _open_items(turn)
    unsettled = [item for item in items if item.key not in turn.state.progress.settled]
    if unsettled:
        if 1 < len(unsettled) == len(items):
            spoken = "; ".join(_with_kind(turn, item) for item in items)
            turn.tell("open_list", "answer", count=len(items), open=spoken)
        turn.ask(OpenItemQuestion(item=unsettled[0]))
        return
    turn.wait_for(None)
    last = headline(turn.words, _tally(turn, items))
    turn.say(f"{turn.words.say('complete')} {last}", "status", asked=True)
    turn.keep(ev.VisitClosed())


def _tally(turn: Turn, items: tuple[OpenItem, ...]) -> Tally:
    """The visit's counts, with their spoken names."""
    w, job, settled = turn.words, turn.job, turn.state.progress.settled
    open_keys = {item.key for item in items}
    failing = {f"{found.subject}/{found.rule}" for found in judge(job, turn.state.limits)}
    found = {life.key for life in turn.state.progress.faults} - failing
    return tally(
        judge(job, turn.state.limits),
        lambda found: sentences.short(w, found),
        in_order=sum(
            fact.value == "in_order" and f"{fact.subject}/{fact.name}" not in open_keys
            for fact in job.facts
        ),
        defects=[item.what for item in items if item.key in found],
        not_checked=[
            item.what
            for item in items
            if item.kind == "skipped" and settled.get(item.key) != "not_applicable"
        ],
    )


def _open_items(turn: Turn) -> tuple[OpenItem, ...]:
    state = turn.state
    return (*not_in_order(turn), *skipped(turn.words, state.tasks, state.progress.ended))


def _with_kind(turn: Turn, item: OpenItem) -> str:
    if item.kind == "skipped":
        return turn.words.say("open_skipped", step=item.what)
    return turn.words.say(f"open_{item.kind}", what=item.what)
