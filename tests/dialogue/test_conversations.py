"""Random conversations: every state has a way out, nothing counts without being said, replay
agrees.

The number of conversations is small here; ``tests/bench/conversation.py`` holds ten
thousand of them.
"""

from __future__ import annotations

import os
from collections import Counter
from itertools import accumulate
from random import Random
from typing import ClassVar

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    rule,
    run_state_machine_as_test,
)

from handsfree.checks.limits import load_limits
from handsfree.dialogue import state_machine
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.questions.question import Question
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import CycleHeard, Say, State
from handsfree.job.closed_lists import Confirm
from handsfree.job.job import Job
from handsfree.journal import events as ev
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import parse_procedure
from handsfree.procedure.step import Procedure
from handsfree.timing.cycle import Label
from handsfree.timing.mark import Mark
from handsfree.visit_record.progress import Progress, apply

from ..talk import PROCEDURE, SHEET, Talk, grouped

LANGUAGE = Language.load()
SMALL = parse_procedure(PROCEDURE, "small.toml", "0" * 64)
GROUPED = parse_procedure(grouped(PROCEDURE), "grouped.toml", "1" * 64)
LIMITS = load_limits("a156.19")

ANSWERS = (
    *("affirm", "yes", "negative", "no", "clear", "done", "next", "in order", "not in order"),
    *("all good", "both in order", "left hand", "right hand", "left leaf", "right leaf"),
    *("motor two right hand", "motor one left hand", "done later", "not applicable"),
    *("refused by owner", "six point two", "fifteen", "fifty", "sixty two"),
)
READINGS = (
    *("left leaf opening time two point one", "right leaf opening time three point six"),
    *("both leaves hold open time six", "open time five", "opening force ten pounds"),
    "left leaf opening time six hold open time five right leaf opening time four",
    "opening time six hold open time five",
    "left leaf opening time six kilograms",
)
CORRECTIONS = (
    *("correction three point nine", "correction hold open time six", "correction opening time 4"),
    *("disregard", "withdraw that"),
)
JUMPS = ("go to the times", "go to the signs", "go to make safe", "go back", "skip")
SKIPS = ("skip the times", "skip the settings", "skip make safe")
WORDS = (
    *("say again", "help", "why", "what is left", "what is the limit", "where am i", "note"),
    *("read back all", "speak less", "speak more", "slower", "start the clock left leaf"),
    *(
        "note the closer leaks",
        "how do you read",
        "start the clock both leaves",
        "cancel the clock",
    ),
    "withdraw run one",
)
NO_ANSWERS = ("negative", "disregard", "go_back", "withdraw", "say_again", "why", "help", "stop")
NONSENSE = ("nice weather today", "", "the other one please")


ACCEPTED = (ev.ReadingAccepted, ev.FactAccepted)
Accepted = ev.ReadingAccepted | ev.FactAccepted
MOVES = (ev.StepEnded, ev.StepEntered, ev.CautionAcknowledged)


def of_question(question: Question) -> list[tuple[object, ...]]:
    """What a question asks to be accepted: readings, or facts."""
    if isinstance(question, FactQuestion):
        return [(fact.subject, fact.name, fact.value) for fact in question.facts]
    assert isinstance(question, ReadingsQuestion)
    return [
        (subject, item.quantity, item.value, item.unit)
        for item in question.items
        for subject in item.subjects
    ]


def of_event(body: Accepted) -> tuple[object, ...]:
    if isinstance(body, ev.FactAccepted):
        return (body.fact.subject, body.fact.name, body.fact.value)
    reading = body.reading
    return (reading.subject, reading.quantity, reading.value, reading.unit)


def said_values(question: Question, language: Language) -> list[str]:
    """The values of a question as they are spoken."""
    if isinstance(question, FactQuestion):
        return ["all good" if question.listed else question.say.lower()]
    w = language.wording
    return [
        # A time is said back without its unit.
        w.measure(item.value, item.unit, spelled=item.rival is not None)
        .removesuffix(w.units(item.unit))
        .strip()
        for item in question.proposed
    ]


def a_state(progress: Progress, procedure: Procedure = SMALL) -> State:
    return State(procedure=procedure, limits=LIMITS, progress=progress, times_by_ear=True)


def a_mark(at_s: float) -> Mark:
    return Mark(
        sample=round(at_s * 16000),
        end_sample=round(at_s * 16000) + 3200,
        snr_db=30.0,
        level_db=-20.0,
        uncertainty_s=0.01,
    )


class Conversation(RuleBasedStateMachine):
    """A technician who says anything at any time.

    ``held`` counts the conversations, ``how`` the ways in which answers came to count.
    """

    held = 0
    how: ClassVar[Counter[str]] = Counter()

    def __init__(self) -> None:
        super().__init__()
        first = a_state(Progress(job=Job.open(SHEET)))
        self.talk = Talk(state=first, language=LANGUAGE)

    @initialize(
        confirm=st.sampled_from(["every", "doubtful", "doubtful"]),
        procedure=st.sampled_from([SMALL, GROUPED]),
    )
    def begins(self, confirm: Confirm, procedure: Procedure) -> None:
        self.talk.state = a_state(self.talk.state.progress, procedure)
        self.talk.begins(confirm)

    @rule(said=st.sampled_from(ANSWERS))
    def answers(self, said: str) -> None:
        self.say(said)

    @rule(said=st.sampled_from(READINGS))
    def gives_readings(self, said: str) -> None:
        self.say(said)

    @rule(said=st.sampled_from(READINGS))
    def gives_readings_and_affirms(self, said: str) -> None:
        self.say(said)
        self.say("affirm")

    @rule(first=st.sampled_from(["five", "six point two"]), then=st.sampled_from(["five", "nine"]))
    def gives_two_readings(self, first: str, then: str) -> None:
        """The second answer is what the first one counts by, where it is said back."""
        for said in ("go to the times", first, then):
            self.say(said)

    @rule(said=st.sampled_from(CORRECTIONS))
    def corrects(self, said: str) -> None:
        self.say(said)

    @rule(said=st.sampled_from(JUMPS))
    def jumps(self, said: str) -> None:
        self.say(said)

    @rule(said=st.sampled_from(SKIPS), reason=st.sampled_from(["no time", "disregard", "no"]))
    def skips_a_part(self, said: str, reason: str) -> None:
        self.say(said)
        self.say(reason)

    @rule(said=st.sampled_from(WORDS))
    def asks(self, said: str) -> None:
        self.say(said)

    @rule(said=st.sampled_from(NONSENSE))
    def talks_nonsense(self, said: str) -> None:
        self.say(said)

    @rule(seed=st.integers(0, 10_000))
    def says_any_sentence_of_the_grammar(self, seed: int) -> None:
        self.say(LANGUAGE.sentence(Random(seed)))

    @rule(said=st.sampled_from(["stand by", "stop"]), back=st.booleans())
    def pauses(self, said: str, back: bool) -> None:
        self.say(said)
        if back:
            self.say("carry on")

    @rule(seconds=st.sampled_from([1, 3, 25, 7200]))
    def is_silent(self, seconds: int) -> None:
        kept = len(self.talk.kept)
        self.talk.is_silent(seconds)
        assert not any(isinstance(body, ACCEPTED) for body in self.talk.kept[kept:])

    @rule()
    def is_cut_off_and_resumes(self) -> None:
        """What waited for an answer is lost here; the shell hears it again (tests/test_kill.py)."""
        progress = self.replayed()
        if not progress.closed:
            self.talk.state = a_state(progress, self.talk.state.procedure)
            self.talk.resumes()

    @rule(
        seconds=st.lists(st.floats(0.6, 7), max_size=7),
        word=st.sampled_from([None, "go", "shut"]),
        cancelled=st.booleans(),
    )
    def marks_a_cycle(self, seconds: list[float], word: str | None, cancelled: bool) -> None:
        """A run of the clock, whether it runs or not: nothing of it counts at once."""
        kept = len(self.talk.kept)
        at_s = list(accumulate(seconds))
        marks = tuple(a_mark(at) for at in at_s)
        labels = (Label(word=word, start_s=at_s[0]),) if word and at_s else ()
        heard = CycleHeard(marks=marks, labels=labels, clip="run.flac", cancelled=cancelled)
        self.talk._take(state_machine.answer(self.talk.state, heard, self.talk.now_s))
        assert not any(isinstance(body, ACCEPTED) for body in self.talk.kept[kept:])
        self.journal_and_echo_add_up()

    def say(self, said: str) -> None:
        before, kept = self.talk.state, len(self.talk.kept)
        self.talk.says(said)
        new = [body for body in self.talk.kept[kept:] if isinstance(body, ACCEPTED)]
        self.how.update(body.how for body in new)
        self.only_what_was_affirmed(said, before, [b for b in new if b.how == "explicit"])
        self.only_what_was_said_back(said, before, [b for b in new if b.how != "explicit"])
        self.journal_and_echo_add_up()

    def only_what_was_affirmed(self, said: str, before: State, new: list[Accepted]) -> None:
        if not new:
            return
        question = before.pending
        if question is None:
            assert before.echo is not None
            question = before.echo.question
        assert said in ("affirm", "affirmative", "yes")
        assert of_question(question) == [of_event(body) for body in new]

    def only_what_was_said_back(self, said: str, before: State, new: list[Accepted]) -> None:
        """It counts by an answer that takes the visit on, and that is no refusal."""
        if not new:
            return
        assert before.echo is not None
        assert of_question(before.echo.question) == [of_event(body) for body in new]
        spoken = " ".join(reply.text for reply in self.talk.replies if isinstance(reply, Say))
        for text in said_values(before.echo.question, LANGUAGE):
            assert text in spoken.lower()
        meaning = LANGUAGE.parse(said)
        assert before.pending is not None or not is_word(meaning, *NO_ANSWERS)
        assert meaning is not None or (before.pending is not None and before.pending.free_words)
        after = self.talk.state
        moved = any(isinstance(body, MOVES) for body in self.talk.kept[-12:])
        assert moved or after.pending is not None or after.echo is not before.echo

    def journal_and_echo_add_up(self) -> None:
        progress, echo = self.replayed(), self.talk.state.echo
        if echo is not None:
            assert progress == echo.before
            for body in echo.bodies:
                progress = apply(progress, body)
        assert progress == self.talk.state.progress

    def replayed(self) -> Progress:
        progress = Progress(job=Job.open(SHEET))
        for body in self.talk.kept:
            progress = apply(progress, body)
        return progress

    def teardown(self) -> None:
        if not self.talk.kept:
            return  # it did not even begin
        type(self).held += 1
        self.journal_and_echo_add_up()
        self.find_the_way_out()

    def find_the_way_out(self) -> None:
        for _ in range(120):
            if self.talk.state.progress.closed:
                break
            if self.talk.state.progress.standing_by:
                self.talk.says("carry on")
            self.talk.says("disregard", "clear", "skip", "disregard", "done", "skip", "no time")
            self.talk.says("in order", "affirm", "left hand", "affirm", "it grinds", "done later")
        assert self.talk.state.progress.closed
        assert state_machine.answer(self.talk.state, self.talk.heard("affirm"), 0.0)[1] == ()
        assert any(isinstance(body, ev.VisitClosed) for body in self.talk.kept)


@pytest.mark.slow
def test_random_conversations():
    examples = int(os.environ.get("HANDSFREE_CONVERSATIONS", "120"))
    run_state_machine_as_test(
        Conversation,
        settings=settings(max_examples=examples, stateful_step_count=40, deadline=None),
    )
    assert Conversation.held >= examples
    print(Conversation.how)


def test_a_conversation_holds_in_which_answers_count_in_both_ways():
    """Random conversations may miss one of the ways; this one has both."""

    class Scripted(Conversation):
        how: ClassVar[Counter[str]] = Counter()

    scripted = Scripted()
    scripted.begins(confirm="doubtful", procedure=SMALL)
    for said in ("go to the times", "opening time six", "affirm", "hold open time six", "five"):
        scripted.say(said)
    assert scripted.how == {"explicit": 1, "implicit": 1}
    scripted.teardown()


def test_every_filed_reading_is_judged_when_a_limit_belongs_to_it(talk):
    talk.go_to("opening-time:left leaf")
    talk.says("six point two", "affirm")
    (judged,) = talk.of(ev.Judged)
    assert {finding.reading_id for finding in judged.findings} == {"r1"}
