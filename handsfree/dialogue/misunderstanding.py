"""What is not understood, and what is kept as it was said: notes and reasons."""

from __future__ import annotations

from handsfree.dialogue import confirmations, help_queries, navigation
from handsfree.dialogue.pending import (
    AskedNote,
    AskedOneOfTwo,
    AskedRun,
    AskedSubject,
    AskedTwoHeard,
    ClockLeaf,
    PendingFact,
    PendingReading,
    PendingReadings,
    PendingWithdrawal,
)
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev

_READ_BACK = (PendingReading, PendingReadings, PendingFact, PendingWithdrawal, AskedRun)

NOISY_DB = 14.0
"""A voice that stands less over the noise may be what is wrong. In six real noises the level of
an utterance is told as 15 to 22 dB at 15 dB, and as 5 to 13 dB at 5 dB (docs/rehearsal.md)."""
_LATELY, _OF_THEM = 8, 3
"""So many of the last utterances missed in noise are no chance any more."""
MOST = 3
"""So often the same word, or any values that did not fit, at one place are no chance any more,
nor are so many misses at one question. Whoever asks why asks it twice at most: the second
time, because he did not hear the answer."""


def miss(turn: Turn, snr_db: float | None) -> None:
    """Not understood: say again, then an example, then other words or spelling, then typing.

    The help grows with the misses in a row, as prompts do with W3C VoiceXML 2.1's
    event counts; anything understood begins anew. Where noise is the likely reason, that is
    said instead. Another way is offered at every third miss at one question, whatever was
    understood between them: one word may fail of one voice for ever. Digits are offered
    once in a row of misses, and then the keyboard.
    """
    misses = turn.state.misses + 1
    turn.set(misses=misses)
    _note(turn, missed=True)
    noisy = snr_db is not None and snr_db < NOISY_DB
    _note_noise(turn, missed=noisy)
    if noisy and snr_db is not None and sum(turn.state.in_noise) >= _OF_THEM:
        turn.set(in_noise=())
        turn.tell("hear_badly", "repair", db=max(0, round(snr_db)))
        return
    missed = turn.state.circle.missed
    often = sum(missed) >= MOST
    if _waits_for_a_number(turn):
        row = next((n for n, one in enumerate(reversed(missed)) if not one), len(missed))
        often = MOST <= misses == row  # not offered yet in this row of misses
    if often and (other := _other_words(turn)):
        turn.set(circle=turn.state.circle.model_copy(update={"missed": ()}))
        turn.say(other, "repair")
    elif misses == 1:
        turn.tell("say_again", "repair")
    elif misses == 2:
        turn.say(help_queries.fitting(turn) or turn.words.say("say_again"), "repair")
    else:
        turn.tell("type_it", "repair")


def way_out(turn: Turn) -> None:
    """What fits here, and how else to say it: in other words, by digits, or on the keyboard."""
    if not isinstance(turn.state.pending, _READ_BACK):
        turn.say(help_queries.fitting(turn), "repair")
    another_way(turn)


def another_way(turn: Turn) -> None:
    """How else to say what is waited for: in other words, by digits, or on the keyboard."""
    turn.say(_other_words(turn) or turn.words.say("or_type"), "repair")


def _other_words(turn: Turn) -> str:
    """How else the answer that is waited for can be said; '' where there is no other way."""
    w, task, pending = turn.words, turn.task, turn.state.pending
    if isinstance(pending, _READ_BACK):
        return w.say("yes_or_type")
    if _waits_for_a_number(turn):
        return w.say("spell_or_type")
    known = w.names["another"]
    others = [known[said] for said in _answers(turn) if said in known]
    if not others:
        return ""
    may_skip = pending is None and task is not None and task.step.may_skip
    or_skip = w.say("or_skip") if may_skip and not turn.caution_open else ""
    return w.say("other_words", words=w.listed(others), or_skip=or_skip)


def _answers(turn: Turn) -> list[str]:
    """What is waited for, as it is said, where it is one of a few words."""
    w, task = turn.words, turn.task
    match turn.state.pending:
        case AskedSubject() | ClockLeaf():
            return [w.name("word", "left"), w.name("word", "right")]
        case None if task is not None and not turn.between:
            pass
        case _:
            return []
    if turn.caution_open:
        return [w.name("word", task.step.word or "")]
    match task.step.waits:
        case "choice":
            return [option.say for option in task.step.options]
        case "observation":
            return [w.name("word", "in_order"), w.name("word", "not_in_order")]
        case "done":
            return [w.name("word", "done")]
        case _:
            return []


def understood(turn: Turn) -> None:
    """The misses begin anew; that there was noise is kept for a while."""
    turn.set(misses=0)
    _note(turn, missed=False)
    _note_noise(turn, missed=False)


def _note(turn: Turn, *, missed: bool) -> None:
    circle = turn.state.circle
    lately = (*circle.missed, missed)[-_LATELY:]
    turn.set(circle=circle.model_copy(update={"missed": lately}))


def _note_noise(turn: Turn, *, missed: bool) -> None:
    turn.set(in_noise=(*turn.state.in_noise, missed)[-_LATELY:])


def _waits_for_a_number(turn: Turn) -> bool:
    pending, task = turn.state.pending, turn.task
    if pending is not None or task is None or turn.caution_open:
        return isinstance(pending, AskedOneOfTwo | AskedTwoHeard)
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
            navigation.end(turn, "failed")
        else:
            confirmations.drop(turn)
    elif is_word(heard.meaning, "say_again"):
        turn.tell("what_is_wrong" if asked.defect else "note_go_ahead", "readback")
    else:
        turn.wait_for(None)
        _keep(turn, heard)
        if asked.defect:
            navigation.end(turn, "failed")
        else:
            navigation.prompt_again(turn)


def take_reason(turn: Turn, heard: Heard) -> None:
    """Skips the task at hand with the utterance as its reason."""
    if is_word(heard.meaning, "disregard", "negative"):
        confirmations.drop(turn)
    elif is_word(heard.meaning, "say_again"):
        turn.tell("skip_reason", "readback")
    else:
        turn.wait_for(None)
        navigation.end(turn, "skipped", heard.text, heard.clip)


def _keep(turn: Turn, heard: Heard) -> None:
    at = turn.state.progress.at
    turn.keep(ev.NoteKept(step_key=at, text=heard.text, clip=heard.clip))
    turn.tell("note_kept", "status")


def _go_back_to_it(turn: Turn) -> None:
    if not confirmations.ask_again(turn):
        navigation.prompt_again(turn)
