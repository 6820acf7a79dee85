"""Gives more and more help as misunderstandings at one question add up."""

from __future__ import annotations

from handsfree.dialogue import sentences
from handsfree.dialogue.grouped_steps import group_at
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Taken

NOISY_DB = 14.0
"""Speech-to-noise ratio below which noise is the likely cause of a misunderstanding (dB). In six
recorded noises an utterance at 15 dB measures 15 to 22 dB, one at 5 dB measures 5 to 13 dB
(docs/rehearsal.md)."""
_RECENT, _NOISY_LIMIT = 8, 3
"""Number of recent utterances considered, and the misunderstandings in noise among them that are
reported.
"""
LOOP_LIMIT = 3
"""Repetitions of a word, values that did not fit, or misunderstandings at one place that make a
loop. Our own choice: nobody asks why more than twice, the second time to hear the answer again.
"""


def miss(turn: Turn, heard: Heard) -> None:
    """Asks to say it again; then gives an example, other words or digits, and finally the
    keyboard.

    The help escalates with consecutive misunderstandings, like the event counts of W3C VoiceXML
    2.1, and starts over once something is understood. If noise is the likely cause, the tool says
    that instead. It offers another way at every third misunderstanding at one question, even if it
    understood something in between, because some words are never recognized in some voices. It
    offers digits once, then the keyboard. A person who types gets an example, then a pointer to
    everything that can be typed. At a question for several steps the example is yes
    or no.
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
        often = LOOP_LIMIT <= misses == row  # not offered yet in this series
    if often and (other := _other_words(turn)):
        turn.set(loop=turn.state.loop.model_copy(update={"misses": ()}))
        turn.say(other, "repair")
    elif misses == 1:
        turn.tell("say_again", "repair")
    elif misses == 2:
        # 'Yes' is heard best, and a question for several steps is answered by it.
        example = _other_words(turn) if group_at(turn.state) else turn.hint
        turn.say(example or turn.words.say("say_again"), "repair")
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
    """Another way to say the expected answer; '' if there is none."""
    w, task, question = turn.words, turn.task, turn.state.pending
    if question is not None:
        return question.other_words(turn)
    if group_at(turn.state):
        return w.say("yes_or_type")
    if _expects_number(turn):
        return w.say("spell_or_type")
    may_skip = task is not None and task.step.may_skip and not turn.caution_open
    or_skip = w.say("or_skip") if may_skip else ""
    return sentences.other_words(w, _step_answers(turn), or_skip=or_skip)


def _step_answers(turn: Turn) -> list[str]:
    """The spoken answers to the current task, if they are a few fixed words."""
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
    """Resets the count of misunderstandings; remembers the noise for a while."""
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
    if task is None or turn.caution_open or turn.between or group_at(turn.state):
        return False
    return task.step.waits == "reading"
