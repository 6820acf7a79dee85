"""Help that grows with the misunderstandings at one question."""

from __future__ import annotations

from handsfree.dialogue import sentences
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Taken

NOISY_DB = 14.0
"""Speech-to-noise ratio below which noise is the likely cause of a misunderstanding (dB). In six
recorded noises an utterance at 15 dB measures 15 to 22 dB, one at 5 dB measures 5 to 13 dB
(docs/rehearsal.md)."""
_RECENT, _NOISY_LIMIT = 8, 3
"""Utterances looked back on, and how many misunderstandings in noise among them are reported."""
LOOP_LIMIT = 3
"""Repetitions of a word, values that did not fit, or misunderstandings at one place that make a
loop. Our own choice: a person asks why twice at most, the second time to hear the answer again."""


def miss(turn: Turn, heard: Heard) -> None:
    """Asks to say it again, then gives an example, then other words or digits, then the keyboard.

    The help grows with the misunderstandings in a row, like the prompts of W3C VoiceXML 2.1 with
    their event counts, and starts over when something is understood. Where noise is the likely
    cause, the tool says that instead. It offers another way at every third misunderstanding at
    one question, even if it understood something in between: one word may never be recognized in
    one voice. It offers digits once in a row, then the keyboard. Who types gets an example, and
    then the way to all that can be typed.
    """
    if heard.taken is Taken.TYPED:
        turn.set(misses=turn.state.misses + 1)
        w = turn.words
        name = "typed_often" if turn.state.misses > 1 else "typed"
        turn.say(w.say(name, hint=turn.hint, command=w.phrases_command), "repair")
        return
    snr_db = heard.snr_db
    misses = turn.state.misses + 1
    turn.set(misses=misses)
    _note(turn, missed=True)
    noisy = snr_db is not None and snr_db < NOISY_DB
    _note_noise(turn, missed=noisy)
    if noisy and snr_db is not None and sum(turn.state.in_noise) >= _NOISY_LIMIT:
        turn.set(in_noise=())
        turn.tell("hear_badly", "repair", db=max(0, round(snr_db)))
        return
    missed = turn.state.loop.misses
    often = sum(missed) >= LOOP_LIMIT
    if _expects_number(turn):
        row = next((n for n, one in enumerate(reversed(missed)) if not one), len(missed))
        often = LOOP_LIMIT <= misses == row  # not offered yet in this row
    if often and (other := _other_words(turn)):
        turn.set(loop=turn.state.loop.model_copy(update={"misses": ()}))
        turn.say(other, "repair")
    elif misses == 1:
        turn.tell("say_again", "repair")
    elif misses == 2:
        turn.say(turn.hint or turn.words.say("say_again"), "repair")
    else:
        turn.tell("type_it", "repair")


def way_out(turn: Turn) -> None:
    """Gives an example of an answer, and another way to say it."""
    question = turn.state.pending
    if question is None or not question.yes_or_no:
        turn.say(turn.hint, "repair")
    another_way(turn)


def another_way(turn: Turn) -> None:
    """Offers another way to answer: in other words, by digits, or on the keyboard."""
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
            return list(sentences.observed(w, task.step).values())
        case "done" if task.step.own_word is not None:
            return list(sentences.own_words(w, task.step.own_word))
        case "done":
            return [w.name("word", "done")]
        case _:
            return []


def understood(turn: Turn) -> None:
    """Starts the count of misunderstandings over; remembers the noise for a while."""
    turn.set(misses=0)
    _note(turn, missed=False)
    _note_noise(turn, missed=False)


def _note(turn: Turn, *, missed: bool) -> None:
    loop = turn.state.loop
    recent = (*loop.misses, missed)[-_RECENT:]
    turn.set(loop=loop.model_copy(update={"misses": recent}))


def _note_noise(turn: Turn, *, missed: bool) -> None:
    turn.set(in_noise=(*turn.state.in_noise, missed)[-_RECENT:])


def _expects_number(turn: Turn) -> bool:
    question, task = turn.state.pending, turn.task
    if question is not None:
        return question.takes_number
    if task is None or turn.caution_open or turn.between:
        return False
    return task.step.waits == "reading"
