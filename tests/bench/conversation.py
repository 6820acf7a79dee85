"""Measures how much is said in a visit without faults, and how fast the conversation is.

    python -m tests.bench.conversation --json conversation.json
    python -m tests.bench.conversation --answers

A typed technician walks whole procedures on a pair that has everything, and whose readings all
pass. The technician either knows the tool ('experienced': one breath for all readings of a leaf,
'both in order'), or goes step by step ('plain': in one breath only what one question asks). The
bench counts utterances per step, and the answers of a visit in which every value is affirmed and
of one in which only doubtful ones are.

The tool's speech is measured with the voice of this machine, sentence by sentence. The minutes of
a visit are that speech, the technician's own at 2.5 words a second, and the hand work of each step
(WORK_S: our own choice, no published source). Turns are timed with the grammar, from the words to
the replies, in processor time.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from statistics import median, quantiles

from handsfree.checks.limits import load_limits
from handsfree.dialogue import state_machine
from handsfree.dialogue.grouped_steps import group_at
from handsfree.dialogue.listed_values import listed_at
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.state import Heard, Reply, Say, State
from handsfree.errors import VoiceError
from handsfree.job.closed_lists import Confirm, SpeechLevel
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Swing
from handsfree.job.reading import LEAF_SUBJECTS, Taken
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.procedure.step import Task
from handsfree.synthesis.voice import VoiceWorker
from handsfree.visit.last_visit import left_by
from handsfree.visit.resume import first_state

from ..dialogue.technician import answer_to, opening, reading_for

WORK_S = {"done": 40.0, "caution": 8.0, "choice": 8.0, "observation": 15.0, "reading": 25.0}
WORDS_A_SECOND = 2.5
COMPLAINT = "slams"


def answer(state: State, *, experienced: bool) -> str:
    """Returns the technician's next words."""
    task = state.task
    if isinstance(state.pending, ReadingsQuestion):
        return "affirm"
    if task is not None and state.pending is None and listed_at(state):
        listed = [reading_for(state, each.step) for each in listed_at(state)]
        return " ".join(one_breath(state, task) if experienced else [task.subject, *listed])
    if experienced and state.pending is None and task is not None and not group_at(state):
        step = task.step
        ready = step.caution is None or task.key in state.progress.cautioned
        if ready and step.waits == "reading" and task.subject in LEAF_SUBJECTS:
            return " ".join(one_breath(state, task))
        if ready and step.waits == "observation" and several(state, task):
            return "both in order"
    return answer_to(state, COMPLAINT)


def one_breath(state: State, task: Task) -> Iterator[str]:
    """Returns the readings of one leaf that follow one another from this step on."""
    tasks = state.tasks
    yield str(task.subject)
    for each in tasks[tasks.index(task) :]:
        together = (each.subject, each.step.stage) == (task.subject, task.step.stage)
        if each.step.quantity is None or not together:
            break
        if each.key not in state.progress.ended:
            yield reading_for(state, each.step)


def several(state: State, task: Task) -> bool:
    """True if the step is asked for more than one leaf, side or plate."""
    return sum(each.step.id == task.step.id for each in state.tasks) > 1


def walk(
    name: str,
    language: Language,
    *,
    experienced: bool,
    level: SpeechLevel,
    confirm: Confirm = "doubtful",
    last: Job | None = None,
) -> tuple[State, list[str], list[Reply], list[float]]:
    """Walks a whole visit; returns the last state, what was said to it, its replies, and seconds
    per turn.

    ``last`` is the job as the last visit left it.
    """
    swing = Swing.DOUBLE_EGRESS if name == "double-egress" else Swing.SAME_WAY
    door = opening(Swing.SINGLE if name.endswith("single") else swing, True)
    sheet = Sheet(reference="B", site="a bench", technician="nobody", opening=door)
    if last is not None:
        sheet = sheet.model_copy(
            update={"last_visit": left_by(last, "2025-11-30", date(2026, 11, 30))}
        )
    limits = load_limits("a156.19")
    new = first_state(sheet, load_procedure(name), limits)
    state, first = state_machine.begin(new, 0.0, level, confirm)
    said: list[str] = []
    replies, took_s = list(first), []
    while not state.progress.closed:
        text = answer(state, experienced=experienced)
        start_s = time.thread_time()
        heard = Heard(text=text, meaning=language.parse(text), taken=Taken.TYPED)
        state, more = state_machine.answer(state, heard, float(len(said)))
        took_s.append(time.thread_time() - start_s)
        said.append(text)
        replies += more
        if len(said) > 20 * len(state.tasks):
            raise SystemExit(f"{name} does not come to its end: '{text}' at {state.progress.at}")
    return state, said, replies, took_s


def spoken_s(replies: list[Reply], voice: VoiceWorker) -> float:
    """Returns how long the tool speaks (s)."""
    return sum(voice.speak(reply.text).seconds for reply in replies if _aloud(reply))


def _aloud(reply: Reply) -> bool:
    return isinstance(reply, Say) and reply.aloud


def measure(name: str, language: Language, voice: VoiceWorker | None) -> dict[str, object]:
    """Measures one row: a procedure, experienced and plain, brief and full."""
    row: dict[str, object] = {"procedure": name}
    for who, experienced in (("experienced", True), ("plain", False)):
        state, said, _, took_s = walk(name, language, experienced=experienced, level="brief")
        row["steps"] = len(state.tasks)
        row[f"utterances a step, {who}"] = round(len(said) / len(state.tasks), 2)
        row[f"turn ms, {who}"] = {
            "median": round(1000 * median(took_s), 2),
            "p99": round(1000 * quantiles(took_s, n=100)[98], 2),
            "most": round(1000 * max(took_s), 2),
        }
    levels: tuple[SpeechLevel, ...] = ("full", "brief", "silent")
    for level in levels if voice is not None else ():
        state, said, replies, _ = walk(name, language, experienced=True, level=level)
        tool_s = spoken_s(replies, voice)
        own_s = sum(len(text.split()) for text in said) / WORDS_A_SECOND
        work_s = sum(WORK_S[task.step.waits] for task in state.tasks)
        minutes = (tool_s + own_s + work_s) / 60
        row["minutes of work"] = round(work_s / 60, 1)
        row[level] = {
            "tool speech s a minute": round(tool_s / minutes, 1),
            "tool speech s a step": round(tool_s / len(state.tasks), 1),
            "minutes": round(minutes, 1),
        }
    return row


def answers_of(name: str, language: Language) -> dict[str, object]:
    """Counts the answers of a visit without faults, and the 'affirm' among them.

    'known' is a visit to a door that was visited before, in which only doubtful answers are
    affirmed.
    """
    row: dict[str, object] = {"procedure": name}
    every_way: tuple[Confirm, ...] = ("every", "doubtful")
    for confirm in every_way:
        for who, experienced in (("plain", False), ("experienced", True)):
            _, said, _, _ = walk(
                name, language, experienced=experienced, level="brief", confirm=confirm
            )
            row[f"{confirm}, {who}"] = len(said)
            row[f"{confirm}, {who}, affirm"] = said.count("affirm")
    state, *_ = walk(name, language, experienced=False, level="brief")
    for who, experienced in (("plain", False), ("experienced", True)):
        last = state.progress.job
        _, said, *_ = walk(name, language, experienced=experienced, level="brief", last=last)
        row[f"known, {who}"] = len(said)
        row[f"known, {who}, affirm"] = said.count("affirm")
    return row


def main() -> None:
    """Prints a table and writes JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", type=Path)
    parser.add_argument("--answers", action="store_true", help="count the answers alone")
    asked = parser.parse_args()
    language = Language.load()
    if asked.answers:
        for name in shipped_procedures():
            print(json.dumps(answers_of(name, language)))
        return
    voice: VoiceWorker | None = VoiceWorker()
    try:
        voice.start()
    except VoiceError as missing:
        print(f"the tool's speech is not measured: {missing}")
        voice = None
    rows = [measure(name, language, voice) for name in shipped_procedures()]
    for row in rows:
        print(json.dumps(row, indent=1))
    if asked.json:
        asked.json.write_text(json.dumps(rows, indent=1) + "\n", encoding="utf-8")
    if voice is not None:
        voice.close()


if __name__ == "__main__":
    main()
