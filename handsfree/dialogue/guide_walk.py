"""The walk through a controller's guide: the current entry, and how entries end.

The position is part of the progress of the visit, so that a break loses nothing.
"""

from __future__ import annotations

from handsfree.controllers.entry_order import done_again, next_entry, walk_of
from handsfree.controllers.guide import LEARN, Code, Guide
from handsfree.controllers.worked_out import WorkedOut, set_up_of
from handsfree.dialogue import guide_sentences as texts
from handsfree.dialogue.turn import Turn
from handsfree.journal.controller_events import (
    CodeShown,
    EntriesReopened,
    EntryAsked,
    EntryEnded,
)
from handsfree.visit_record.controller_set_up import ControllerSetUp


def set_up(turn: Turn) -> tuple[WorkedOut, ...]:
    """The set-up worked out for the door as known now; empty without a guide."""
    return set_up_of(turn.guide, turn.job) if turn.guide is not None else ()


def walk(turn: Turn) -> tuple[str, ...]:
    """The entries of the current task; the learn cycle follows everything that must precede it."""
    task = turn.task
    return walk_of(set_up(turn), learn=task is not None and task.step.guide == LEARN)


def so_far(turn: Turn) -> ControllerSetUp:
    """The entries and codes so far."""
    return turn.state.progress.controller


def worked_out(turn: Turn, entry: str) -> WorkedOut | None:
    """The worked-out entry for this door, or None."""
    return next((each for each in set_up(turn) if each.step.id == entry), None)


def at_hand(turn: Turn) -> str | None:
    """The current entry: the one asked for last if it is still open, otherwise the next one."""
    done = so_far(turn)
    if done.at in walk(turn) and done.at not in _over(turn):
        return done.at
    return following(turn)


def following(turn: Turn) -> str | None:
    """The entry after the current one, or None when all are over."""
    done = so_far(turn)
    if turn.guide is None:
        return None
    return next_entry(turn.guide, walk(turn), _over(turn), done.at)


def _over(turn: Turn) -> frozenset[str]:
    """The finished entries; the learn cycle is never among them during its own step."""
    return so_far(turn).over - {LEARN}


def asked(turn: Turn, entry: str) -> None:
    """Records that an entry was asked for."""
    turn.keep(EntryAsked(entry=entry))


def ended(
    turn: Turn,
    entry: str,
    outcome: str,
    *,
    mark: str | None = None,
    text: str | None = None,
    clip: str | None = None,
) -> None:
    """Records how an entry ended, with what was seen and the sound of the answer."""
    each = worked_out(turn, entry)
    step = each.step if each is not None else None
    value = each.value.say if each is not None and each.value is not None else None
    learn = turn.words.say("guide_learn_name")
    turn.keep(
        EntryEnded.model_validate(
            {
                "entry": entry,
                "outcome": outcome,
                "name": step.name if step is not None else learn if entry == LEARN else text,
                "called": step.called if step is not None else None,
                "value": value if value is not None or step is None else text,
                "shown": mark,
                "text": text,
                "clip": clip,
            }
        )
    )


def reopen(turn: Turn, guide: Guide, entry: str) -> str:
    """Reopens an entry and everything that has to be redone with it; returns the first to enter."""
    again = done_again(guide, entry, so_far(turn).made)
    there = [each for each in walk_of(set_up(turn), learn=False) if each in again]
    turn.keep(EntriesReopened(entries=tuple(there)))
    return there[0] if len(there) > 1 else entry


def code_shown(turn: Turn, mark: str, clip: str | None) -> Code | None:
    """Records a code with its meaning; returns it, or None for a code unknown to the guide."""
    code = turn.guide.code(mark) if turn.guide is not None else None
    turn.keep(
        CodeShown(
            code=mark,
            means=code.means if code is not None else None,
            remedy=code.remedy if code is not None else None,
            entry=so_far(turn).at if turn.led else None,
            clip=clip,
        )
    )
    spelled = texts.spelled_first(turn.words, mark)
    means = texts.meaning(turn.words, turn.guide, mark) if turn.guide is not None else None
    if means is not None:
        turn.say(means, "finding")
    elif turn.guide is not None:
        turn.tell("guide_code_unknown", "warning", code=spelled)
    else:
        turn.tell("guide_code_alone", "warning", code=spelled)
    return code


def came_before(turn: Turn, mark: str) -> bool:
    """True if the code had come up before this occurrence."""
    return sum(each.code == mark for each in so_far(turn).codes) > 1
