"""Named faults decide which steps follow, just like bad observations."""

from __future__ import annotations

import pytest

from handsfree.dialogue.state import State
from handsfree.job.opening import Swing
from handsfree.language.interpreter import Language
from handsfree.procedure.condition import holds
from handsfree.procedure.loader import load_procedure

from .technician import answer_to, opening, walk

WORDS = {
    "en": ("i found left closer leaks", "affirm", "fixed it"),
    "es": ("encontré cierrapuertas con fuga hoja izquierda", "afirmativo", "reparé"),
}


def daily_walk(spoken: Language, lines: dict[str, list[str]]) -> tuple[State, list[str]]:
    """The owner's walk, with these lines before the answer of a step."""

    def answer(state: State) -> str:
        said = lines.get(state.progress.at or "")
        return said.pop(0) if said else answer_to(state, "slams")

    procedure = load_procedure("daily-check", language=spoken.wording.language)
    walked = walk(spoken, procedure, opening(Swing.SAME_WAY, everything=False), answer)
    return walked.state, [body.key for body in walked.journal if hasattr(body, "key")]


def test_without_a_fault_nothing_is_to_do(language):
    state, entered = daily_walk(language, {})
    assert "what-to-do" not in entered and not holds("defects", state.progress.job)


@pytest.mark.parametrize("spoken", ["en", "es"])
def test_a_named_fault_leads_to_what_is_to_do(spoken):
    found, yes, _ = WORDS[spoken]
    named = {"signs-there:near side": [found, yes]}
    state, entered = daily_walk(Language.load(language=spoken), named)
    assert "what-to-do" in entered
    assert state.progress.job.open_faults == ("left leaf/closer_leaks",)
    assert holds("defects", state.progress.job)


def test_a_fault_that_was_mended_and_proved_leads_there_no_more(language):
    found, yes, fixed = WORDS["en"]
    mended = {"signs-there:near side": [found, yes, fixed, yes]}
    state, entered = daily_walk(language, mended)
    assert "what-to-do" not in entered and state.progress.job.open_faults == ()
