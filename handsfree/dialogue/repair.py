"""What is not understood, and what is kept as it was said: notes and reasons."""

from __future__ import annotations

from handsfree.dialogue import answers, orient, walk
from handsfree.dialogue.pending import (
    AskedNote,
    AskedOneOfTwo,
    AskedRun,
    PendingFact,
    PendingReading,
    PendingReadings,
    PendingWithdrawal,
)
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.dialogue.wording import is_word
from handsfree.journal import events as ev

_READ_BACK = (PendingReading, PendingReadings, PendingFact, PendingWithdrawal, AskedRun)

NOISY_DB = 14.0
"""A voice that stands less over the noise may be what is wrong. In six real noises the level of
an utterance is told as 15 to 22 dB at 15 dB, and as 5 to 13 dB at 5 dB (docs/rehearsal.md)."""
_LATELY, _OF_THEM = 8, 3
"""So many of the last utterances missed in noise are no chance any more."""


def miss(turn: Turn, snr_db: float | None) -> None:
    """Not understood: say again, then an example, then other words or spelling, then typing.

    The help grows with the misses in a row, as prompts do with W3C VoiceXML 2.1's
    event counts; anything understood begins anew. Where noise is the likely reason, that is
    said instead, for then no other words help.
    """
    misses = turn.state.misses + 1
    turn.set(misses=misses)
    noisy = snr_db is not None and snr_db < NOISY_DB
    _note_noise(turn, missed=noisy)
    if noisy and snr_db is not None and sum(turn.state.in_noise) >= _OF_THEM:
        turn.set(in_noise=())
        turn.tell("hear_badly", "repair", db=max(0, round(snr_db)))
        return
    if misses == 1:
        turn.tell("say_again", "repair")
    elif misses == 2:
        turn.say(orient.fitting(turn) or turn.words.say("say_again"), "repair")
    elif misses == 3 and (way_out := _other_words(turn)):
        turn.say(way_out, "repair")
    else:
        turn.tell("type_it", "repair")


def way_out(turn: Turn) -> None:
    """What fits here, and how else to say it: in other words, by digits, or on the keyboard."""
    other = _other_words(turn)
    if not isinstance(turn.state.pending, _READ_BACK):
        turn.say(orient.fitting(turn), "repair")
    turn.say(other or turn.words.say("or_type"), "repair")


def _other_words(turn: Turn) -> str:
    """How else the answer that is waited for can be said; '' where there is no other way."""
    w, task, pending = turn.words, turn.task, turn.state.pending
    if isinstance(pending, _READ_BACK):
        return w.say("yes_or_type")
    if _waits_for_a_number(turn):
        return w.say("spell_or_type")
    if pending is not None or task is None or turn.between or turn.caution_open:
        return ""
    answers = {
        "choice": [option.say for option in task.step.options],
        "observation": [w.name("word", "in_order"), w.name("word", "not_in_order")],
    }
    known = w.names["another"]
    others = [known[said] for said in answers.get(task.step.waits, ()) if said in known]
    if not others:
        return ""
    or_skip = w.say("or_skip") if task.step.may_skip else ""
    return w.say("other_words", words=w.listed(others), or_skip=or_skip)


def understood(turn: Turn) -> None:
    """The misses begin anew; that there was noise is kept for a while."""
    turn.set(misses=0)
    _note_noise(turn, missed=False)


def _note_noise(turn: Turn, *, missed: bool) -> None:
    turn.set(in_noise=(*turn.state.in_noise, missed)[-_LATELY:])


def _waits_for_a_number(turn: Turn) -> bool:
    pending, task = turn.state.pending, turn.task
    if pending is not None or task is None or turn.caution_open:
        return isinstance(pending, AskedOneOfTwo)
    return not turn.between and task.step.waits == "reading"


def note(turn: Turn, heard: Heard) -> None:
    """'Note' with the note behind it is kept; alone, the next utterance is the note."""
    if heard.text.split()[1:]:
        _keep(turn, heard)
        _go_back_to_it(turn)
    else:
        turn.wait_for(AskedNote())
        turn.tell("note_go_ahead", "readback")


def take_note(turn: Turn, heard: Heard, asked: AskedNote) -> None:
    """Keeps the utterance as a note, whatever was heard in it."""
    if is_word(heard.meaning, "disregard"):
        turn.wait_for(None)
        if asked.defect:
            walk.end(turn, "failed")
        else:
            answers.drop(turn)
    elif is_word(heard.meaning, "say_again"):
        turn.tell("what_is_wrong" if asked.defect else "note_go_ahead", "readback")
    else:
        turn.wait_for(None)
        _keep(turn, heard)
        if asked.defect:
            walk.end(turn, "failed")
        else:
            walk.prompt_again(turn)


def take_reason(turn: Turn, heard: Heard) -> None:
    """Skips the task at hand with the utterance as its reason."""
    if is_word(heard.meaning, "disregard", "negative"):
        answers.drop(turn)
    elif is_word(heard.meaning, "say_again"):
        turn.tell("skip_reason", "readback")
    else:
        turn.wait_for(None)
        walk.end(turn, "skipped", heard.text, heard.clip)


def _keep(turn: Turn, heard: Heard) -> None:
    at = turn.state.progress.at
    turn.keep(ev.NoteKept(step_key=at, text=heard.text, clip=heard.clip))
    turn.tell("note_kept", "status")


def _go_back_to_it(turn: Turn) -> None:
    if not answers.ask_again(turn):
        walk.prompt_again(turn)
