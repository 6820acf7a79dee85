"""The current question of a search for a cause: a check, a remedy, or the proof of the cure."""

from __future__ import annotations

from typing import ClassVar

from handsfree.diagnosis.search import DONE, SKIP, Search, phase
from handsfree.diagnosis.search_tree import YES_NO, Cause, Check, SearchTree
from handsfree.dialogue import navigation, searching
from handsfree.dialogue.answer_set import YES_OR_NO, AnswerSet
from handsfree.dialogue.caution_hold import hold, refuses
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import Choice, Word
from handsfree.language.wording import sentence
from handsfree.procedure.step import CURED, Task
from handsfree.procedure.step_checks import CAUTION_WORDS

_CAUTION_WORD = CAUTION_WORDS[0]


class CauseSearchQuestion(Question):
    """The current question of a search; ``cautioned`` once its caution was acknowledged.

    ``unsure`` is true after 'I don't know': the second time, the answer is that of an unknown.
    Repeating the learn cycle has its own caution: nobody in the path.

    The position of the search is part of the visit's progress, so that a break loses nothing.
    """

    expected: ClassVar[AnswerSet] = YES_OR_NO
    admits: ClassVar[frozenset[str]] = frozenset({"found"})
    can_loop: ClassVar[bool] = False

    cautioned: bool = False
    unsure: bool = False

    def affirm(self, turn: Turn) -> None:
        """Answers yes."""
        self._give(turn, "yes")

    def negative(self, turn: Turn) -> None:
        """Answers no."""
        self._give(turn, "no")

    def disregard(self, turn: Turn) -> None:
        """Stops the search; the complaint stays open."""
        found = searching.under_way(turn)
        turn.wait_for(None)
        if found is not None:
            searching.end(turn, found[0], None)
        turn.tell("search_stopped", "status")
        _return(turn, cured=False)

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Takes the word of a caution, 'done', 'skip', and the choices of a check."""
        match heard.meaning:
            case said if (caution := self._caution(turn)) is not None and refuses(said):
                hold(turn, caution)
            case Word(kind="clear") if self._caution(turn) is not None:
                turn.wait_for(self.model_copy(update={"cautioned": True}))
                turn.ask_again()
            case Word(kind="done" | "skip" as said) if said in self._allowed(turn):
                self._give(turn, said)
            case Word(kind="dont_know") if self._caution(turn) is None:
                self._unknown(turn)
            case Word(kind="why"):
                turn.say(self._why(turn), "answer")
            case Choice(value=value) if value in self._choices(turn):
                self._give(turn, value)
            case _:
                return heard
        return None

    def repeat(self, turn: Turn) -> None:
        """Says the caution, the check, the cause with its remedy, or the proof."""
        found = searching.under_way(turn)
        if found is None:
            return
        tree, search = found
        node, w = tree.node(search.at), turn.words
        if (caution := self._caution(turn)) is not None:
            ask = w.say("wait_caution", word=w.name("word", _CAUTION_WORD))
            turn.say(w.say("caution", caution=caution, ask=ask), "caution")
        elif isinstance(node, Cause) and phase(node, search) == "remedy":
            name = "search_cause_learn" if node.learn else "search_cause"
            turn.tell(name, "finding", found=node.found, remedy=node.remedy)
        else:
            turn.say(searching.asked(turn, tree, search), "prompt", asked=True)

    def hint(self, turn: Turn) -> str:
        """The answers that fit: a caution's word, 'done', or the choices of the check."""
        found, w = searching.under_way(turn), turn.words
        if found is None:
            return turn.step_hint
        tree, search = found
        node = tree.node(search.at)
        if self._caution(turn) is not None:
            return w.say("wait_caution", word=w.name("word", _CAUTION_WORD))
        if isinstance(node, Cause) and phase(node, search) != "prove":
            return w.say("search_wait_done")
        if isinstance(node, Check) and node.answers:
            return sentence(w.say("search_wait_choice", choices=", ".join(node.answers.values())))
        return w.say("search_wait_yes_no")

    def _give(self, turn: Turn, said: str) -> None:
        """Takes an answer if it fits here, and asks the next question."""
        if self._caution(turn) is not None or said not in self._allowed(turn):
            turn.say(self.hint(turn), "repair")
            return
        after = searching.give(turn, said)
        if after is None or after.outcome is None:
            turn.ask(CauseSearchQuestion())
            return
        turn.wait_for(None)
        cured = after.outcome == "cured"
        turn.tell(f"search_{after.outcome}", "status" if cured else "warning")
        _return(turn, cured=cured)

    def _unknown(self, turn: Turn) -> None:
        """Says what the check shows and asks again; the second time, goes on without an answer.

        A check without an answer is skipped, a cure that nobody saw is not proved.
        """
        allowed = self._allowed(turn)
        if self.unsure:
            self._give(turn, SKIP if SKIP in allowed else "no")
            return
        turn.wait_for(self.model_copy(update={"unsure": True}))
        if isinstance(self._node(turn), Check):
            turn.tell("search_look", "answer", why=self._why(turn))
        turn.ask_again()
        turn.say(self.hint(turn), "repair")

    def _allowed(self, turn: Turn) -> tuple[str, ...]:
        found = searching.under_way(turn)
        return searching.choices(*found) if found is not None else ()

    def _choices(self, turn: Turn) -> tuple[str, ...]:
        return tuple(value for value in self._allowed(turn) if value not in (*YES_NO, DONE, SKIP))

    def _caution(self, turn: Turn) -> str | None:
        """The caution that was not acknowledged yet: that of the check, or of the learn cycle."""
        found = searching.under_way(turn)
        if found is None or self.cautioned:
            return None
        node = found[0].node(found[1].at)
        if isinstance(node, Check):
            return node.caution
        learns = phase(node, found[1]) == "learn"
        return turn.words.say("search_learn_caution") if learns else None

    def _why(self, turn: Turn) -> str:
        node = self._node(turn)
        return node.why if isinstance(node, Check) else node.found if node is not None else ""

    def _node(self, turn: Turn) -> Check | Cause | None:
        found: tuple[SearchTree, Search] | None = searching.under_way(turn)
        return found[0].node(found[1].at) if found is not None else None


def _return(turn: Turn, *, cured: bool) -> None:
    """Returns to where the visit was.

    After a cure, a step that offered the search asks again as a proof; otherwise it is over.
    """
    task = turn.task
    offered = task is not None and task.step.search is not None and _found_defect(turn, task)
    if turn.between:
        navigation.go_on(turn)
    elif offered and not cured:
        navigation.end(turn, "failed")
    elif task is not None and offered and CURED in task.step.on:
        navigation.end(turn, "done", answer=CURED)
    else:
        turn.prompt()


def _found_defect(turn: Turn, task: Task) -> bool:
    return turn.job.fact(task.subject, task.step.fact or "") == "not_in_order"
