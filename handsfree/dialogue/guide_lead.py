"""Leads through the guide: asks for the next entry whenever no other question is pending."""

from __future__ import annotations

from handsfree.controllers.guide import LEARN
from handsfree.controllers.worked_out import open_cases
from handsfree.dialogue import guide_walk
from handsfree.dialogue.questions.code_shown import CodeShownQuestion
from handsfree.dialogue.questions.guide_entry import GuideEntryQuestion
from handsfree.dialogue.questions.guide_learn import first_phase
from handsfree.dialogue.questions.own_entry import OwnEntryQuestion
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.language.meaning import CodeSaid


def tell_open_cases(turn: Turn) -> None:
    """Says before the visit which entries have no value in the guide for this door."""
    if turn.guide is not None and (missing := open_cases(turn.guide, turn.job)):
        names = turn.words.listed([step.name for step in missing], "and")
        turn.tell("guide_open_cases", "warning", names=names)


def restore(turn: Turn) -> None:
    """Restores the guide's pending question after a break, silently."""
    if _waits(turn) and (question := _question(turn)) is not None:
        turn.set(pending=question)


def lead(turn: Turn) -> None:
    """Asks for the next entry of the guide if no other question is pending."""
    if not _waits(turn):
        return
    question = _question(turn)
    if question is None:
        return
    if isinstance(question, OwnEntryQuestion) and question.entry is None:
        turn.wait_for(question)  # the step's own prompt has already asked for it
        return
    entry = guide_walk.at_hand(turn)
    done = guide_walk.so_far(turn)
    if done.at is None and turn.guide is not None:
        count = len(guide_walk.walk(turn))
        turn.tell("guide_begin", "status", count=count, title=turn.guide.title)
    if entry is not None and (done.at != entry or entry in done.over):
        guide_walk.asked(turn, entry)
    turn.ask(question)


def take_code(turn: Turn, said: CodeSaid, heard: Heard) -> None:
    """Takes a code as the answer to the guide where it waits for one; else reads it back."""
    question = _question(turn) if _waits(turn) else None
    if question is not None and question.expected.codes:
        turn.wait_for(question)
        question.answer(turn, heard)
    else:
        turn.ask(CodeShownQuestion(mark=said.mark, clip=heard.clip))


def _waits(turn: Turn) -> bool:
    """True if the current step belongs to the guide and no question is pending."""
    progress, task = turn.state.progress, turn.task
    if turn.state.pending is not None or progress.closed or progress.standing_by is not None:
        return False
    if task is None or turn.between or turn.caution_open:
        return False
    own = task.step.guide == "as_found" or (turn.guide is None and task.step.guide == "set_up")
    return turn.led or own


def _question(turn: Turn) -> Question | None:
    if not turn.led:
        return OwnEntryQuestion()
    entry = guide_walk.at_hand(turn)
    if entry == LEARN:
        return first_phase(turn)
    each = guide_walk.worked_out(turn, entry) if entry is not None else None
    if each is not None and each.state == "missing":
        return OwnEntryQuestion(entry=entry)
    return GuideEntryQuestion(entry=entry)
