"""Help that grows with the misunderstandings at one question."""

from __future__ import annotations

from handsfree.dialogue import sentences
from handsfree.dialogue.turn import Turn

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
    if _expects_number(turn):
        row = next((n for n, one in enumerate(reversed(missed)) if not one), len(missed))
        often = MOST <= misses == row  # not offered yet in this row of misses
    if often and (other := _other_words(turn)):
        turn.set(circle=turn.state.circle.model_copy(update={"missed": ()}))
        turn.say(other, "repair")
    elif misses == 1:
        turn.tell("say_again", "repair")
    elif misses == 2:
        turn.say(turn.hint or turn.words.say("say_again"), "repair")
    else:
        turn.tell("type_it", "repair")


def way_out(turn: Turn) -> None:
    """What fits here, and how else to say it: in other words, by digits, or on the keyboard."""
    question = turn.state.pending
    if question is None or not question.yes_or_no:
        turn.say(turn.hint, "repair")
    another_way(turn)


def another_way(turn: Turn) -> None:
    """How else to say what is waited for: in other words, by digits, or on the keyboard."""
    turn.say(_other_words(turn) or turn.words.say("or_type"), "repair")


def _other_words(turn: Turn) -> str:
    """Another way to say the expected answer; '' where there is none."""
    w, task, question = turn.words, turn.task, turn.state.pending
    if question is not None:
        return question.other_words(turn)
    if _expects_number(turn):
        return w.say("spell_or_type")
    may_skip = task is not None and task.step.may_skip and not turn.caution_open
    or_skip = w.say("or_skip") if may_skip else ""
    return sentences.other_words(w, _step_answers(turn), or_skip=or_skip)


def _step_answers(turn: Turn) -> list[str]:
    """The answers to the task at hand as they are spoken, where they are a few fixed words."""
    w, task = turn.words, turn.task
    if task is None or turn.between:
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


def _expects_number(turn: Turn) -> bool:
    question, task = turn.state.pending, turn.task
    if question is not None:
        return question.takes_number
    if task is None or turn.caution_open or turn.between:
        return False
    return task.step.waits == "reading"
