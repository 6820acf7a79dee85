"""docs/user-guide.md is true: its conversations run, and its tables match the grammar."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import takewhile
from pathlib import Path

import pytest

from handsfree.checks.limits import load_limits
from handsfree.cli.phrases_markdown import written_into
from handsfree.dialogue.state import State
from handsfree.job.job import Job
from handsfree.job_file.loader import parse_sheet
from handsfree.journal import events as ev
from handsfree.language.interpreter import Language
from handsfree.language.phrase_table import phrases
from handsfree.language.phrase_texts import phrase_texts
from handsfree.procedure.loader import load_procedure
from handsfree.visit_record.progress import Progress, apply
from tests.talk import Talk

GUIDE = Path(__file__).parents[1] / "docs" / "user-guide.md"
TEXT = GUIDE.read_text(encoding="utf-8")
PROCEDURE = "controller-replaced-pair"
SHEET = re.search(r"```toml\n(\[job\].+?)```", TEXT, re.DOTALL)


@dataclass(frozen=True)
class Example:
    """A conversation of the guide: where it begins, and its lines by who says them."""

    at: str
    language: str
    lines: tuple[tuple[str, str], ...]


def examples(text: str) -> list[Example]:
    """Each block with 'you' and 'tool', with the step that the comment above it names."""
    found = re.findall(r"<!-- at (.+?)(?: in (\w\w))? -->\n```text\n(.+?)```", text, re.DOTALL)
    return [Example(at, code or "en", lines_of(block)) for at, code, block in found]


def lines_of(block: str) -> tuple[tuple[str, str], ...]:
    """Lists who says what; a line that begins with a space continues the one above it."""
    whole = re.sub(r"\n +", " ", block)
    return tuple(re.findall(r"^(\w+): (.+)$", whole, re.MULTILINE))


def talk_at(example: Example) -> Talk:
    """Starts the visit of the guide's job at a step, with all earlier steps done."""
    assert SHEET is not None, "the guide has no job file"
    sheet = parse_sheet(SHEET[1], GUIDE).model_copy(update={"language": example.language})
    state = State(
        procedure=load_procedure(PROCEDURE, language=example.language),
        limits=load_limits(sheet.limits),
        progress=Progress(job=Job.open(sheet)),
        times_by_ear=True,
    )
    progress = state.progress
    for task in takewhile(lambda task: task.key != example.at, state.tasks):
        progress = apply(progress, ev.StepEnded(key=task.key, outcome="done"))
    progress = apply(progress, ev.StepEntered(key=example.at))
    progress = apply(progress, ev.ConfirmSet(confirm="doubtful", why="setting"))
    state = state.model_copy(update={"progress": progress})
    assert state.task is not None, f"there is no step {example.at}"
    return Talk(state=state, language=Language.load(language=example.language))


def answers(talk: Talk, who: str, line: str) -> str:
    """Returns what the tool says to a line; a line of 'quiet' is a number of seconds."""
    if who == "you":
        return " ".join(talk.says(line))
    if who == "quiet":
        return " ".join(talk.is_silent(float(line.split()[0])))
    assert who == "break", f"nobody is called '{who}'"
    return " ".join(talk.resumes())


def test_the_guide_has_conversations_and_no_block_of_text_without_a_place():
    assert len(examples(TEXT)) == TEXT.count("```text\n") > 10


@pytest.mark.parametrize("example", examples(TEXT), ids=lambda example: example.lines[0][1])
def test_a_conversation_of_the_guide_is_held_as_it_is_written(example: Example):
    talk, said = talk_at(example), ""
    for who, line in example.lines:
        if who != "tool":
            assert said in ("", "..."), f"the tool also says: {said}"
            said = answers(talk, who, line)
        elif line == "...":
            said = ""
        elif line.endswith(" ..."):
            assert said.startswith(line.removesuffix("...").rstrip()), said
            said = ""
        else:
            assert said == line
            said = ""
    assert said == ""


@pytest.mark.parametrize("code", ["en", "es"])
def test_the_tables_of_the_guide_are_the_grammar(code):
    """If this fails: handsfree phrases --into docs/user-guide.md."""
    language, texts = Language.load(language=code), phrase_texts(code)
    assert written_into(TEXT, texts, phrases(language, texts), GUIDE) == TEXT
