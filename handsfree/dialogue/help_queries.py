"""Answers requests for information: where am I, what is left, what is the limit, why, read back,
help.
"""

from __future__ import annotations

from handsfree.checks.limit_sentence import limit_for
from handsfree.dialogue import grouped_steps, sentences
from handsfree.dialogue.open_faults import not_in_order
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.handing import MOTOR_SUBJECT
from handsfree.job.leaf_geometry import MOST_DEG
from handsfree.job.quantity import Quantity
from handsfree.job.reading import LEAF_SUBJECT, Reading, Subject
from handsfree.language.meaning import HowFar, ReadBack
from handsfree.language.tape_words import angle_out
from handsfree.language.wording import sentence

# Speech-to-noise ratios of readability 5, 4, 3 and 2 (dB); below the last it is 1. Our own choice:
# speech needs at least 6 dB over the noise (Moore 1997, seen, secondary).
_READABILITY_DB = (24.0, 18.0, 12.0, 6.0)


def where_am_i(turn: Turn) -> None:
    """Says the position in the procedure, and the full prompt."""
    task = turn.task
    if task is None:
        return
    tasks = turn.state.tasks
    group = grouped_steps.group_at(turn.state)
    turn.tell(
        "position",
        "answer",
        index=tasks.index(task) + 1,
        of=len(tasks),
        stage=turn.stage(task).title,
        prompt=grouped_steps.prompt(turn.state, group, brief=True) if group else task.prompt,
    )


def resumed(turn: Turn) -> None:
    """Says the position in the visit after a break, in two sentences."""
    w, state = turn.words, turn.state
    tasks, task = state.tasks, turn.task or state.tasks[0]
    wrong = [item.what for item in not_in_order(turn) if item.kind in ("wrong", "uncured")]
    named = "; ".join(wrong)
    turn.tell(
        "resumed",
        "status",
        at=tasks.index(task) + 1,
        of=len(tasks),
        stage=turn.stage(task).title,
        progress=w.say(
            "resumed_over", count=sum(each.key in state.progress.ended for each in tasks)
        ),
        wrong=w.say("resumed_wrong", wrong=named) if named else w.say("resumed_right"),
    )


def what_is_left(turn: Turn) -> None:
    """Says the number of open steps, by stage."""
    open_tasks = [t for t in turn.state.tasks if t.key not in turn.state.progress.ended]
    counts = [
        (stage.title, sum(task.step.stage == stage.id for task in open_tasks))
        for stage in turn.state.procedure.stages
    ]
    turn.say(sentences.remaining(turn.words, counts), "answer")


def what_is_the_limit(turn: Turn) -> None:
    """Says the limits for the readings being read back, or for the current task."""
    question, task = turn.state.pending, turn.task
    about: list[tuple[Quantity, Subject]] = []
    if question is not None and question.proposed:
        about = [(item.quantity, item.subjects[0]) for item in question.proposed]
    elif task is not None and task.step.quantity is not None:
        about = [(task.step.quantity, task.subject)]
    limits = [
        limit
        for quantity, subject in about
        if (limit := limit_for(turn.job, turn.state.limits, quantity, subject))
    ]
    turn.say(" ".join(limits) or turn.words.say("no_limit"), "answer")


def how_far(turn: Turn, asked: HowFar) -> None:
    """Says how far out the latch edge is at an angle, for the current leaf or for each leaf."""
    named = (asked.subject, turn.task.subject if turn.task else None)
    leaves = [leaf for leaf in turn.job.opening.leaves if LEAF_SUBJECT[leaf.name] in named]
    if not 1 <= asked.value <= MOST_DEG:
        turn.tell("angle_too_far", "answer")
        return
    w = turn.words
    said = [
        angle_out(w, leaf.width, w.the(LEAF_SUBJECT[leaf.name]), asked.value)
        for leaf in leaves or turn.job.opening.leaves
        if leaf.width is not None
    ]
    turn.say(" ".join(said) or w.say("angle_no_width"), "answer")


def why(turn: Turn) -> None:
    """Says the purpose of the current task."""
    if turn.task is not None:
        turn.say(turn.task.step.why, "answer")


def help_(turn: Turn) -> None:
    """Gives an example of an answer, and the words that always work."""
    turn.say(f"{turn.hint} {turn.words.say('always')}".lstrip(), "answer")


def read_back(turn: Turn, asked: ReadBack) -> None:
    """Says the latest readings of a subject, of a quantity, or all of them."""
    seen: dict[tuple[Subject, Quantity], Reading] = {}
    for reading in turn.job.readings:
        about = asked.subject in (None, Subject.BOTH_LEAVES, reading.subject)
        if about and asked.quantity in (None, reading.quantity):
            seen[reading.subject, reading.quantity] = reading
    spoken = [sentences.read_reading(turn.words, reading) for reading in seen.values()]
    spoken += _motors(turn, asked)
    turn.say(" ".join(spoken) or turn.words.say("nothing_read"), "answer")


def _motors(turn: Turn, asked: ReadBack) -> list[str]:
    """Says the leaf and the hand of a motor ('Motor one, left leaf.')."""
    w, known = turn.words, []
    for motor in turn.job.opening.motors:
        if asked.subject is not MOTOR_SUBJECT[motor.number]:
            continue
        if motor.leaf is not None:
            known.append(w.subject(LEAF_SUBJECT[motor.leaf]))
        if motor.hand is not None:
            known.append(w.name("word", f"{motor.hand}_hand"))
        if known:
            return [sentence(", ".join([w.subject(MOTOR_SUBJECT[motor.number]), *known]))]
    return []


def how_do_you_read(turn: Turn, heard: Heard) -> None:
    """Says the readability, one to five, from the level of this utterance over the noise."""
    grade = 5 if heard.snr_db is None else readability_of(heard.snr_db)
    turn.say(sentences.readability(turn.words, grade, heard.snr_db), "answer")


def readability_of(snr_db: float) -> int:
    """Readability, one to five, of a voice ``snr_db`` over the noise."""
    return 1 + sum(snr_db >= step for step in _READABILITY_DB)
