"""Every language has the same procedures as English, with only the spoken texts translated."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from handsfree.controllers.guide_loader import load_guide
from handsfree.errors import ProcedureError
from handsfree.job.closed_lists import COMPLAINTS
from handsfree.job.door_feature import FEATURES
from handsfree.job.quantity import SETTINGS
from handsfree.language.interpreter import Language
from handsfree.language.meaning import Choice, Meaning, Word
from handsfree.language.wording import languages, placeholders
from handsfree.procedure.loader import SHIPPED, load_procedure, shipped_procedures
from handsfree.procedure.step import ForEach, Step
from handsfree.toml_source import TomlSource

OTHERS = [language for language in languages() if language != "en"]
FILES = sorted(file.relative_to(SHIPPED / "en") for file in (SHIPPED / "en").rglob("*.toml"))
SPOKEN = ("title", "prompt", "brief", "caution", "adjust", "called", "item", "why", "say")
# What a prompt asks to say for each thing that is waited for, besides a choice's options.
ASKED = {
    "en": {
        **{"done": ["done"], "caution": ["clear"], "own word": ["pass", "fail"]},
        **{"locked_out": ["locked out", "no"], "proved_dead": ["proved dead", "not dead"]},
    },
    "es": {
        **{"done": ["listo"], "caution": ["despejado"], "own word": ["cumple", "falla"]},
        **{"locked_out": ["bloqueado", "no"], "proved_dead": ["energía cero", "hay corriente"]},
    },
}
MEANT: dict[str, list[Meaning]] = {
    "done": [Word(kind="done")],
    "caution": [Word(kind="clear")],
    "locked_out": [Word(kind="locked_out"), Word(kind="negative", everyday=True)],
    "proved_dead": [Word(kind="proved_dead"), Word(kind="still_live")],
    "own word": [Choice(value="in_order"), Choice(value="not_in_order")],
}


def raw(language: str, file: Path) -> dict[str, Any]:
    path = SHIPPED / language / file
    return TomlSource(path.read_text(encoding="utf-8"), path, ProcedureError).data


def unspoken(value: Any) -> Any:
    """The same data without spoken texts: a name may be added to an answer, nothing else."""
    if isinstance(value, list):
        return [unspoken(each) for each in value]
    if not isinstance(value, dict):
        return value
    kept = {key: unspoken(each) for key, each in value.items() if key not in SPOKEN}
    said = {key for key in SPOKEN if key in value and key != "called"}
    return kept | dict.fromkeys(said)


def texts(value: Any) -> Iterator[tuple[str, str]]:
    """Every spoken text with its key, in order; a name that English may leave out is not one."""
    for each in value.values() if isinstance(value, dict) else value:
        if isinstance(each, dict | list):
            yield from texts(each)
    if isinstance(value, dict):
        yield from ((key, value[key]) for key in SPOKEN if key in value and key != "called")


def steps_of(language: str) -> Iterator[Step]:
    """Every shipped step, once."""
    procedures = [load_procedure(name, language=language) for name in shipped_procedures(language)]
    yield from {step.id: step for each in procedures for step in each.steps}.values()


@pytest.mark.parametrize("other", OTHERS)
def test_there_are_the_same_files(other: str) -> None:
    theirs = SHIPPED / other
    assert sorted(file.relative_to(theirs) for file in theirs.rglob("*.toml")) == FILES


@pytest.mark.parametrize("other", OTHERS)
@pytest.mark.parametrize("file", FILES, ids=str)
def test_only_what_is_spoken_differs_and_all_of_it_does(other: str, file: Path) -> None:
    english, theirs = raw("en", file), raw(other, file)
    assert unspoken(theirs) == unspoken(english)
    for (key, text), (_, translated) in zip(texts(english), texts(theirs), strict=True):
        assert translated.strip()
        assert translated != text, key
        assert placeholders(translated) == placeholders(text), (key, translated)


@pytest.mark.slow
@pytest.mark.parametrize("other", OTHERS)
def test_every_answer_has_a_name_of_its_own_language(other: str) -> None:
    english = {step.id: step.called for step in steps_of("en")}
    for step in steps_of(other):
        assert (step.called is not None) is (step.fact is not None), step.id
        assert step.called is None or step.called != english[step.id], step.id


@pytest.mark.parametrize("language", languages())
def test_what_a_prompt_asks_to_say_can_be_said_and_means_it(language: str) -> None:
    heard = Language.load(language=language)
    asked = ASKED[language]
    for waits, phrases in asked.items():
        assert [heard.parse(phrase) for phrase in phrases] == MEANT[waits]
    for step in steps_of(language):
        prompt = step.prompt.casefold()
        for option in step.options:
            meaning = heard.parse(option.say)
            assert isinstance(meaning, Choice) and meaning.value == option.value, option
            # A complaint can be any that there is; the prompt names the most common ones.
            named = option.value not in COMPLAINTS or option in step.options[:5]
            assert not named or option.say in prompt, step.id
        waits = "own word" if step.is_pass_or_fail else step.own_word or step.waits
        for phrase in asked.get(waits, []):
            assert phrase in prompt, step.id
        assert step.waits != "observation" or "?" in prompt, step.id  # yes is its good answer


ARTICLES: dict[ForEach, str] = {
    "leaf": r"la \{subject\}",
    "plate": r"la \{subject\}",
    "motor": r"(el|del|al) \{subject\}",
    "side": r"(el|del|al) \{subject\}",
}


def test_the_spanish_article_fits_what_a_step_repeats_over() -> None:
    """Or a comma stands before the name, which has no article of its own."""
    for step in steps_of("es"):
        if step.for_each == "opening":
            continue
        fits = rf"({ARTICLES[step.for_each]}|, \{{subject\}})"
        for text in (step.prompt, step.brief, step.adjust or "", step.caution or "", step.why):
            assert len(re.findall(fits, text)) == text.count("{subject}"), (step.id, text)


@pytest.mark.parametrize("language", languages())
def test_there_is_a_guide_to_copy_and_it_names_every_setting(language: str) -> None:
    guide = load_guide("heron", language)
    for controller in (None, guide):
        procedure = load_procedure("yearly-service", controller, language)
        named = {step.setting: step.prompt for step in procedure.steps if step.setting}
        assert named.keys() == guide.entries.keys() == set(SETTINGS)
        for setting, entry in guide.entries.items():
            assert (entry.say in named[setting]) is (controller is not None)


@pytest.mark.parametrize("language", languages())
def test_a_step_about_a_feature_of_the_door_offers_all_that_it_can_be(language):
    """Else what the job file says of the door would have to be answered otherwise."""
    asked = 0
    for name in shipped_procedures(language):
        for step in load_procedure(name, language=language).steps:
            if step.waits != "choice" or step.fact not in FEATURES or step.for_each != "opening":
                continue
            asked += 1
            offered = {option.value for option in step.options}
            there = set(FEATURES[step.fact].values)
            if "pair" in step.applies:
                there.discard("single")
            assert offered == there, (name, step.id)
    assert asked >= 8


@pytest.mark.parametrize("language", languages())
def test_no_search_is_about_a_part_that_the_door_of_the_step_does_not_have(language):
    """A magnetic lock has no strike that hangs."""
    steps = [step for step in steps_of(language) if step.search == "strike_hangs"]
    assert steps
    assert {applies for step in steps for applies in step.applies} == {"strike"}
