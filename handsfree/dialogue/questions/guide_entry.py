"""Asks for one entry of a controller's guide: made, left out, or shown to be wrong."""

from __future__ import annotations

from typing import ClassVar

from handsfree.controllers.entry_order import entry_before
from handsfree.controllers.guide import LEARN
from handsfree.controllers.worked_out import WorkedOut
from handsfree.dialogue import guide_sentences as texts
from handsfree.dialogue import guide_walk, navigation
from handsfree.dialogue.answer_set import AnswerSet
from handsfree.dialogue.questions.code_shown import CodeShownQuestion
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import CodeSaid, EntrySaid, ReadingSaid, Word


class GuideEntryQuestion(Question):
    """Asks for the entry of that id; ``entry`` is None if all are over and the task was
    reopened.
    """

    expected: ClassVar[AnswerSet] = AnswerSet(words=frozenset({"done"}), codes=True)
    admits: ClassVar[frozenset[str]] = frozenset({"go_to", "start_clock", "withdraw_run"})
    keeps_sound: ClassVar[bool] = True
    can_loop: ClassVar[bool] = False

    entry: str | None

    def affirm(self, turn: Turn) -> None:
        """Takes the entry as made."""
        self._made(turn, None)

    def negative(self, turn: Turn) -> None:
        """Says what to do if something else is shown, and asks what it is."""
        each = self._each(turn)
        if each is None:
            self.repeat(turn)
            return
        if each.step.if_not:
            turn.say(each.step.if_not, "repair")
        if each.seen.mark is not None:
            turn.tell("guide_what_shows", "repair")
        elif not each.step.if_not:
            self.repeat(turn)

    def disregard(self, turn: Turn) -> None:
        """Asks again, because an entry is left out only by 'skip'."""
        self.repeat(turn)

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Takes 'next', 'skip', 'go back', a code, and the value as a bare number."""
        match heard.meaning:
            case Word(kind="done"):
                self._made(turn, heard)
            case Word(kind="skip") if self.entry is not None:
                guide_walk.ended(turn, self.entry, "left", clip=heard.clip)
                turn.tell("guide_left_out", "status", what=self._name(turn))
                go_on(turn)
            case Word(kind="go_back") if self.entry is not None:
                turn.wait_for(None)
                before = entry_before(guide_walk.walk(turn), self.entry)
                guide_walk.asked(turn, before)
            case Word(kind="why") if (each := self._each(turn)) is not None:
                turn.say(each.step.why, "answer")
            case Word(kind="what_is_left"):
                over = guide_walk.so_far(turn).over
                left = sum(each not in over for each in guide_walk.walk(turn))
                turn.tell("guide_remaining", "answer", count=left)
            case CodeSaid() as code:
                self._shown(turn, code, heard)
            case EntrySaid() as said if self._is_set(turn) and not _is_setting(turn, said):
                self._said_where(turn, said, heard)
            case ReadingSaid(quantity=None, subject=None, unit=None) if self._is_set(turn):
                self._number(turn, heard)
            case _:
                return heard
        return None

    def repeat(self, turn: Turn) -> None:
        """Says what to enter, why, and what it shows afterwards."""
        each, guide = self._each(turn), turn.guide
        if each is None or guide is None:
            turn.tell("guide_all_made", "prompt")
        else:
            turn.say(texts.entry(turn.words, guide, each), "prompt", asked=True)

    def hint(self, turn: Turn) -> str:
        """The answers that fit ('Say next when it is set, say what it shows, or skip.')."""
        each, w = self._each(turn), turn.words
        if each is not None and each.state == "unknown":
            return texts.entry(w, turn.guide, each) if turn.guide is not None else ""
        return w.say("guide_wait")

    # --- what the answers do

    def _made(self, turn: Turn, heard: Heard | None, mark: str | None = None) -> None:
        each = self._each(turn)
        if self.entry is None:
            finish(turn)
        elif each is not None and each.state == "unknown":
            self.repeat(turn)
        else:
            clip = heard.clip if heard is not None else None
            guide_walk.ended(turn, self.entry, "made", mark=mark, clip=clip)
            go_on(turn)

    def _shown(self, turn: Turn, said: CodeSaid, heard: Heard) -> None:
        """Takes the right indication as the entry made; names a value that was entered wrong."""
        w, each = turn.words, self._each(turn)
        if each is None or each.seen.mark is None or each.state == "unknown":
            turn.ask(CodeShownQuestion(mark=said.mark, clip=heard.clip))
            return
        if said.mark == each.seen.mark:
            self._made(turn, heard, said.mark)
            return
        wanted = each.value.say if each.value is not None else ""
        other = next((value for value in each.step.value if value.mark == said.mark), None)
        spelled = texts.spelled_first(w, said.mark)
        if other is not None:
            turn.tell("guide_wrong_value", "warning", code=spelled, value=other.say, wanted=wanted)
        elif said.mark == each.step.before:
            self.repeat(turn)
        else:
            turn.ask(CodeShownQuestion(mark=said.mark, clip=heard.clip))

    def _number(self, turn: Turn, heard: Heard) -> None:
        """Takes the value alone as the entry made; corrects any other value."""
        each = self._each(turn)
        wanted = each.value.say if each is not None and each.value is not None else ""
        match heard.meaning:
            case ReadingSaid(value=value):
                said = turn.words.number(value)
                if wanted in (heard.text, said, turn.words.number(value, spelled=True)):
                    self._made(turn, heard)
                else:
                    turn.tell("guide_other_value", "warning", said=said, wanted=wanted)

    def _said_where(self, turn: Turn, said: EntrySaid, heard: Heard) -> None:
        """Takes 'entry three set to one' as the entry made, if place and value are right."""
        each = self._each(turn)
        if each is None or each.value is None or (said.control, said.value) != each.step.place:
            self.repeat(turn)
            return
        wanted = each.value.say
        number = turn.words.digits(said.code) if said.code.isdecimal() else ""
        if heard.text.endswith(f" {wanted}") or number == wanted:
            self._made(turn, heard)
        else:
            turn.tell("guide_wrong_entry", "warning", wanted=wanted)

    def _each(self, turn: Turn) -> WorkedOut | None:
        return guide_walk.worked_out(turn, self.entry) if self.entry is not None else None

    def _is_set(self, turn: Turn) -> bool:
        each = self._each(turn)
        return each is not None and each.value is not None

    def _name(self, turn: Turn) -> str:
        each = self._each(turn)
        return each.step.name if each is not None else ""


def _is_setting(turn: Turn, said: EntrySaid) -> bool:
    place = (said.control, said.value)
    return turn.guide is not None and turn.guide.setting_at(place) is not None


def go_on(turn: Turn) -> None:
    """Asks for the next entry, or ends the task when all are over."""
    turn.wait_for(None)
    if guide_walk.following(turn) is None:
        finish(turn)


def finish(turn: Turn) -> None:
    """Ends the set-up; an entry that was left out keeps it open."""
    turn.wait_for(None)
    left = [each.name for each in guide_walk.so_far(turn).left if each.entry != LEARN]
    if left:
        names = turn.words.listed(left, "and")
        turn.tell("guide_left_list", "warning", names=names)
        navigation.end(turn, "skipped", turn.words.say("guide_left_list", names=names))
    else:
        turn.tell("guide_complete", "status")
        navigation.end(turn, "done")
