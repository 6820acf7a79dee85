"""Fills the names of controller settings into prompts, from its menu if known."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from handsfree.errors import ProcedureError
from handsfree.language.wording import wording
from handsfree.procedure.controller import Controller
from handsfree.procedure.step import Step
from handsfree.toml_source import TomlSource

WORDS = Path(__file__).parent / "data" / "words.toml"


def fill_setting(step: Step, controller: Controller | None, language: str) -> Step:
    """Fills in the {setting} of a step; {subject} stays to be filled for each task.

    Without a controller, or if its menu lacks the setting: 'the opening speed of the {subject}'.
    With it: 'menu twelve, opening speed, {subject}', and after an adjustment how to store the new
    value.
    """
    if step.setting is None:
        return step
    words = _words(language)
    entry = controller.entries.get(step.setting) if controller is not None else None
    adjust = step.adjust
    if entry is None:
        spoken = words[step.setting]
    else:
        named = wording(language).quantity(step.setting)
        spoken = words["menu"].format(menu=entry.say, setting=named, subject="{subject}")
        if adjust is not None and entry.save is not None:
            adjust = words["save"].format(adjust=adjust, save=entry.save)
    texts = {"prompt": step.prompt, "brief": step.brief, "adjust": adjust}
    filled = {key: text and text.replace("{setting}", spoken) for key, text in texts.items()}
    return step.model_copy(update=filled)


@cache
def _words(language: str) -> dict[str, str]:
    source = TomlSource(WORDS.read_text(encoding="utf-8"), WORDS, ProcedureError)
    if language not in source.data:
        raise source.fault(f"has no words for the language '{language}'")
    return {str(key): str(text) for key, text in source.data[language].items()}
