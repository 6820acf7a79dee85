"""Decides which answers need 'affirm': doubtful ones, or every value while hearing is bad.

A visit that asks for 'affirm' only at doubtful answers switches to every value as soon as it is
noisy, a value was taken back, or hearing is bad. It announces the switch, and the switch back:
after ``RECENT`` utterances in a row that were all heard well.
"""

from __future__ import annotations

from typing import Literal

from handsfree.dialogue import implicit_confirmation
from handsfree.dialogue.grouped_steps import group_at
from handsfree.dialogue.implicit_confirmation import NOISE_DB
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard, Keep
from handsfree.dialogue.turn import Turn
from handsfree.job.closed_lists import Confirm
from handsfree.job.reading import Taken
from handsfree.journal import events as ev
from handsfree.language.item_answers import ItemsSaid
from handsfree.language.meaning import Choice, Correction
from handsfree.visit_record.progress import apply

RECENT = 8
"""Number of recent utterances considered, and of well-heard ones in a row that end the bad
hearing.
"""
BADLY = 3
"""Hearing counts as bad once this many of them were not understood or refused. Our own choice,
like RECENT.
"""

Why = Literal["noise", "taken_back", "not_understood", "heard_well"]
_SAYS: dict[Why, str] = {
    "noise": "confirm_noise",
    "taken_back": "confirm_taken_back",
    "not_understood": "confirm_not_understood",
    "heard_well": "confirm_heard_well",
}


def notice(turn: Turn, heard: Heard) -> bool:
    """Notes how an utterance was heard, and adjusts which answers need 'affirm'.

    Returns True if the utterance answers a group of steps that was just split: each of its steps
    needs its own 'affirm' now, so the first of them is asked.
    """
    asked = turn.state.pending is None and bool(group_at(turn.state))
    refuses = turn.state.echo is not None and not _agrees(heard)
    _notice(turn, heard)
    if not asked or refuses or group_at(turn.state) or not _may_answer_several(heard):
        return False
    turn.tell("group_opened", "status")
    turn.prompt(asked=True)
    return True


def _may_answer_several(heard: Heard) -> bool:
    words = is_word(heard.meaning, "affirm", "negative", "done", "correct")
    return heard.meaning is None or words or isinstance(heard.meaning, Choice | ItemsSaid)


def _agrees(heard: Heard) -> bool:
    """Whether an utterance can be no refusal of what was said back."""
    said = heard.meaning
    good = isinstance(said, Choice) and said.value == "in_order"
    return said is None or good or is_word(said, "affirm", "done")


def _notice(turn: Turn, heard: Heard) -> None:
    progress = turn.state.progress
    if progress.confirm_setting == "every":
        return
    said = heard.taken is Taken.SAID
    noisy = said and heard.snr_db is not None and heard.snr_db < NOISE_DB
    refused = implicit_confirmation.takes_back(turn.state, heard) or _refuses(turn, heard)
    badly = noisy or refused or (said and heard.meaning is None)
    turn.set(hearing=(*turn.state.hearing, badly)[-RECENT:])
    recent = turn.state.hearing
    if progress.confirm == "every":
        if len(recent) == RECENT and not any(recent):
            _set(turn, "doubtful", "heard_well")
    elif noisy:
        _set(turn, "every", "noise")
    elif refused:
        _set(turn, "every", "taken_back")
    elif sum(recent) >= BADLY:
        _set(turn, "every", "not_understood")


def _refuses(turn: Turn, heard: Heard) -> bool:
    """True if an utterance refuses a value that was read back."""
    question = turn.state.pending
    if question is None or not question.reads_back:
        return False
    return is_word(heard.meaning, "negative") or isinstance(heard.meaning, Correction)


def _set(turn: Turn, confirm: Confirm, why: Why) -> None:
    """Changes the level from this utterance on: the event precedes the utterance in the journal."""
    bodies: list[ev.ConfirmSet | ev.GroupOpened] = [ev.ConfirmSet(confirm=confirm, why=why)]
    task, opened = turn.task, turn.state.progress.opened
    group = task.step.group if task is not None else None
    if confirm == "doubtful" and group is not None and group not in opened:
        # The current step was asked alone, so its answer must not end the others of its group.
        bodies.append(ev.GroupOpened(group=group))
    for body in bodies:
        echo, progress = turn.state.echo, apply(turn.state.progress, body)
        if echo is not None:
            echo = echo.model_copy(update={"before": apply(echo.before, body)})
        turn.set(progress=progress, echo=echo, hearing=())
        turn.replies.append(Keep(body=body, earlier=True))
    turn.tell(_SAYS[why], "status")
