"""Leads through the learn cycle by the controller's guide: preparation, start, ending."""

from __future__ import annotations

from typing import ClassVar, Literal

from handsfree.controllers.guide import LEARN, Learn
from handsfree.dialogue import guide_walk, navigation
from handsfree.dialogue.answer_set import YES_OR_NO, AnswerSet
from handsfree.dialogue.caution_hold import refuses
from handsfree.dialogue.fact_filing import task_of
from handsfree.dialogue.questions.code_shown import CodeShownQuestion
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.language.meaning import CodeSaid, Word

COMPLETE = "learn_complete"
"""Name of the fact that says whether the learn cycle is complete."""


class GuideLearnQuestion(Question):
    """Asks about the learn cycle; ``phase`` is its preparation, its run, or its ending.

    After a failed cycle, 'clear' has to be said again first, because the sensors are inactive.
    """

    expected: ClassVar[AnswerSet] = YES_OR_NO.model_copy(update={"codes": True})
    admits: ClassVar[frozenset[str]] = frozenset({"go_to"})
    keeps_sound: ClassVar[bool] = True
    can_loop: ClassVar[bool] = False

    phase: Literal["clear", "before", "run", "ending"]

    def affirm(self, turn: Turn) -> None:
        """Takes the cycle as complete; before its end, continues to it."""
        if self.phase == "ending":
            self._complete(turn, None)
        elif self.phase == "clear":
            turn.say(self.hint(turn), "repair")
        else:
            self._next(turn)

    def negative(self, turn: Turn) -> None:
        """Asks what the controller shows."""
        if self.phase == "ending":
            turn.tell("guide_what_shows", "repair")
        else:
            self.repeat(turn)

    def answer(self, turn: Turn, heard: Heard) -> Heard | None:
        """Takes 'next', a code, and 'skip', which leaves the cycle as it ended.

        The following steps ask how it went and what to do about it.
        """
        learn = self._learn(turn)
        match heard.meaning:
            case said if self.phase == "clear" and refuses(said):
                turn.tell("learn_hold", "caution")
            case Word(kind="clear") if self.phase == "clear":
                turn.ask(first_phase(turn, cleared=True))
            case Word(kind="done") if self.phase in ("before", "run"):
                self._next(turn)
            case Word(kind="done"):
                turn.say(self.hint(turn), "repair")
            case Word(kind="go_back"):
                turn.ask(first_phase(turn))
            case Word(kind="skip"):
                self._failed(turn, heard)
            case CodeSaid() as code if learn is not None and code.mark == learn.success.mark:
                self._complete(turn, heard, code.mark)
            case CodeSaid() as code:
                turn.ask(CodeShownQuestion(mark=code.mark, clip=heard.clip))
            case _:
                return heard
        return None

    def repeat(self, turn: Turn) -> None:
        """Says what to do now, and what should be seen."""
        learn = self._learn(turn)
        if learn is None:
            return
        if self.phase == "clear":
            turn.tell("guide_learn_clear", "caution")
        elif self.phase == "before":
            turn.say(
                " ".join((*learn.before, turn.words.say("guide_say_next"))), "prompt", asked=True
            )
        elif self.phase == "run":
            turn.tell(
                "guide_learn_run",
                "prompt",
                start=learn.start,
                seen=learn.seen,
                seconds=turn.words.say("guide_seconds", count=learn.takes_s),
            )
        else:
            success, failure = learn.success.say, learn.failure.say
            turn.tell("guide_learn_ending", "prompt", success=success, failure=failure)

    def hint(self, turn: Turn) -> str:
        """The possible answers: 'next', or yes, no and the indication."""
        w = turn.words
        if self.phase == "clear":
            return w.say("wait_caution", word=w.name("word", "clear"))
        return w.say("guide_wait_ending" if self.phase == "ending" else "guide_say_next")

    def _next(self, turn: Turn) -> None:
        turn.ask(GuideLearnQuestion(phase="run" if self.phase == "before" else "ending"))

    def _complete(self, turn: Turn, heard: Heard | None, mark: str | None = None) -> None:
        clip = heard.clip if heard is not None else None
        guide_walk.ended(turn, LEARN, "made", mark=mark, clip=clip)
        learn = self._learn(turn)
        after = " ".join(learn.after) if learn is not None else ""
        turn.say(f"{turn.words.say('guide_learn_done')} {after}".rstrip(), "status")
        turn.wait_for(None)
        if (asks := task_of(turn, Subject.OPENING, COMPLETE)) is not None:
            fact = Fact(subject=Subject.OPENING, name=COMPLETE, value="in_order")
            turn.keep(ev.FactAccepted(fact=fact))
            turn.keep(ev.StepEnded(key=asks.key, outcome="done"))
        navigation.end(turn, "done")

    def _failed(self, turn: Turn, heard: Heard) -> None:
        guide_walk.ended(turn, LEARN, "left", clip=heard.clip)
        turn.tell("guide_learn_failed", "warning")
        turn.wait_for(None)
        navigation.end(turn, "done")

    def _learn(self, turn: Turn) -> Learn | None:
        return turn.guide.learn if turn.guide is not None else None


def first_phase(turn: Turn, *, cleared: bool = False) -> GuideLearnQuestion:
    """The first phase; after a failed cycle the path has to be clear again."""
    last = guide_walk.so_far(turn).entries.get(LEARN)
    if last is not None and last.outcome == "failed" and not cleared:
        return GuideLearnQuestion(phase="clear")
    before = turn.guide is not None and bool(turn.guide.learn.before)
    return GuideLearnQuestion(phase="before" if before else "run")
