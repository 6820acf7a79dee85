"""Checks of a single step of a procedure; each fault has its line and way out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from string import Formatter

from handsfree.errors import HandsfreeError
from handsfree.job.closed_lists import CHOICES, STAGES
from handsfree.job.door_feature import FEATURES
from handsfree.job.opening import Action, Side, WeightSource
from handsfree.job.quantity import QUANTITIES
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.procedure.condition import CONDITIONS, exclusive_pairs, required_fact
from handsfree.procedure.prompt_lint import MOST_WORDS, MOST_WORDS_IN_BRIEF, unspeakable
from handsfree.procedure.step import BAD_ANSWERS, HOLD, Step
from handsfree.procedure.step_tables import PlacedStep
from handsfree.toml_source import nearest

CAUTION_WORDS = ("clear",)
# Facts that change the record of the opening accept only known values.
FACT_VALUES: dict[str, tuple[str, ...]] = {
    "hinge_side": tuple(Side),
    "leaf": tuple(Side),
    "hand": tuple(Side),
    "action": tuple(Action),
    "weight_source": tuple(WeightSource),
    **{name: feature.values for name, feature in FEATURES.items()},
}
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_SPOKEN = ("prompt", "brief", "caution", "adjust", "called", "item", "why")
_WITH_SETTING = ("prompt", "brief", "adjust")
_PLACEHOLDERS = ("subject", "setting")


def step_faults(place: PlacedStep, listed: list[str], procedure: str) -> Iterator[HandsfreeError]:
    """Yields every fault of a single step; ``listed`` are the stages of its ``procedure``."""
    step = place.step
    if not _ID.fullmatch(step.id):
        yield place.fault(
            "has an id that is not a plain name", "id", "use lowercase letters, digits and '-'"
        )
    if step.stage not in STAGES:
        yield place.fault(
            f"has an unknown stage '{step.stage}'", "stage", nearest(step.stage, STAGES)
        )
    elif step.stage not in listed:
        yield place.fault(
            f"belongs to the stage '{step.stage}', which {procedure} does not list",
            "stage",
            f"add it there as [[stage]], or choose one of: {', '.join(listed)}",
        )
    yield from _condition_faults(place)
    for key in _SPOKEN:
        if (text := getattr(step, key)) is not None:
            yield from _placeholder_faults(place, key, text)
            bare = text
            for name in _PLACEHOLDERS:
                bare = bare.replace(f"{{{name}}}", "")
            most = MOST_WORDS_IN_BRIEF if key in ("brief", "item") else MOST_WORDS
            yield from unspeakable(place.source, "step", place.nth, key, bare, most)
    yield from _caution_faults(place)
    yield from _answer_faults(place)
    if step.attempts < 1:
        yield place.fault("has attempts below 1", "attempts", "use a whole number from 1")
    if (step.attempts > 1) != (step.adjust is not None):
        yield place.fault(
            "needs both attempts above 1 and adjust, or neither",
            "attempts" if step.adjust is None else "adjust",
            "adjust says what to change before the next measurement",
        )
    for name in step.visit_facts:
        if name not in VISIT_FACTS:
            yield place.fault(
                f"asks for a visit fact '{name}' that does not exist",
                "visit_facts",
                nearest(name, VISIT_FACTS),
            )
    if step.guide is not None and step.waits != "done":
        yield place.fault(
            "is led by the guide of the controller and does not wait for 'done'",
            "waits", 'without a guide it ends with "done"',
        )  # fmt: skip
    if step.own_word is not None and (
        step.waits != "done" or step.may_skip or step.guide or step.group
    ):
        yield place.fault(
            "has an own word and can end without it",
            "own_word",
            'it belongs to a step that waits for "done", with may_skip = false, no guide, no group',
        )
    if step.required and step.waits != "choice":
        yield place.fault(
            "is required and does not wait for a choice",
            "required",
            "what fails or is not OK is asked for before the hand-over anyway",
        )
    if step.search is not None and step.waits != "observation":
        yield place.fault(
            "offers a search and does not wait for an observation",
            "search",
            'the search is offered after "no"',
        )
    yield from _outcome_faults(place)
    if not step.why:
        yield place.fault("has no 'why'", way_out="say in one sentence what the step is for")


def _outcome_faults(place: PlacedStep) -> Iterator[HandsfreeError]:
    """Yields faults in the targets of the answers, as far as the step alone shows them."""
    step = place.step
    if step.branch is not None and (not _ID.fullmatch(step.branch) or step.branch == HOLD):
        yield place.fault(
            f"has a branch '{step.branch}' that is not a plain name",
            "branch",
            "use lowercase letters, digits and '-', and not 'hold'",
        )
    for answer in step.on:
        if answer not in step.answers:
            yield place.fault(
                f"leads on from '{answer}', which is no answer to it",
                "on",
                nearest(answer, step.answers),
            )
        elif step.on[answer] == HOLD and answer not in BAD_ANSWERS:
            yield place.fault(
                f"leads from '{answer}' to a hold, which has nothing to decide on",
                "on",
                f"a hold is for one of: {', '.join(BAD_ANSWERS)}",
            )
    if (step.at_most is None) != (step.then is None):
        yield place.fault(
            "needs both at_most and then, or neither",
            "at_most" if step.then is None else "then",
            "then says where it leads when it has led on so often",
        )
    if step.at_most is not None and step.at_most < 1:
        yield place.fault("has at_most below 1", "at_most", "use a whole number from 1")
    if step.at_most is not None and not step.on:
        yield place.fault("has at_most and leads nowhere", "at_most", "add on = { ... }")
    if step.then == HOLD and not any(answer in BAD_ANSWERS for answer in step.on):
        yield place.fault(
            "leads to a hold, which has nothing to decide on",
            "then",
            f"a hold is for one of: {', '.join(BAD_ANSWERS)}",
        )


def _condition_faults(place: PlacedStep) -> Iterator[HandsfreeError]:
    for condition in place.step.applies:
        name = condition.removeprefix("not ")
        if name not in CONDITIONS and required_fact(condition) is None:
            yield place.fault(
                f"has an unknown condition '{condition}'", "applies", nearest(name, CONDITIONS)
            )
    for one, other in exclusive_pairs(place.step.applies):
        yield place.fault(
            f"can never apply: '{one}' and '{other}' are never true together",
            "applies",
            "remove one of them",
        )


def _caution_faults(place: PlacedStep) -> Iterator[HandsfreeError]:
    step = place.step
    if (step.caution is not None or step.waits == "caution") and step.word is None:
        yield place.fault("has a caution without a word", "caution", 'add word = "clear"')
    if step.caution is None and step.waits == "caution":
        yield place.fault("waits for a caution but has none", "waits", 'add caution = "..."')
    if step.word is not None and step.word not in CAUTION_WORDS:
        yield place.fault(
            f"has the word '{step.word}', which is not a caution word", "word", 'use word = "clear"'
        )


def _answer_faults(place: PlacedStep) -> Iterator[HandsfreeError]:
    """Yields faults in what the step waits for."""
    step = place.step
    if step.waits == "reading" and step.quantity is None:
        yield place.fault("waits for a reading without a quantity", "waits", 'add quantity = "..."')
    if step.quantity is not None and QUANTITIES[step.quantity].use is None:
        yield place.fault(
            f"reads '{step.quantity}', which no check and no record uses",
            "quantity",
            "make it an observation, or leave it out",
        )
    if step.waits == "choice" and not step.options:
        yield place.fault("waits for a choice without options", "waits", "add options = [...]")
    if step.waits in ("choice", "observation") and step.fact is None:
        yield place.fault(f"waits for a {step.waits} without a fact", "waits", 'add fact = "..."')
    for option in step.options:
        known = FACT_VALUES.get(step.fact or "", CHOICES)
        if option.value not in known or option.value not in CHOICES:
            yield place.fault(
                f"has an option '{option.value}' that nobody can say here",
                "options",
                nearest(option.value, [value for value in known if value in CHOICES]),
            )
        yield from unspeakable(place.source, "step", place.nth, "options", option.say)


def _placeholder_faults(place: PlacedStep, key: str, text: str) -> Iterator[HandsfreeError]:
    step = place.step
    try:
        names = [name for _, name, _, _ in Formatter().parse(text) if name is not None]
    except ValueError:
        yield place.fault(f"has an unmatched brace in {key}", key)
        return
    for name in names:
        if name not in _PLACEHOLDERS:
            yield place.fault(
                f"has an unknown placeholder '{{{name}}}'",
                key,
                "known: {subject} and {setting}",
            )
    if "setting" in names:
        yield from _setting_faults(step, place, key)
    if key in ("prompt", "brief") and step.for_each != "opening" and not names:
        yield place.fault(
            f"repeats for each {step.for_each}, but its {key} does not say which",
            key,
            "write {subject} where it belongs",
        )


def _setting_faults(step: Step, place: PlacedStep, key: str) -> Iterator[HandsfreeError]:
    if key not in _WITH_SETTING:
        yield place.fault(
            f"has {{setting}} in {key}", key, f"only {', '.join(_WITH_SETTING)} name a setting"
        )
    elif step.setting is None:
        yield place.fault("has {setting} but does not say which", key, 'add setting = "..."')
    elif step.for_each != "leaf":
        yield place.fault(
            "has {setting} but does not repeat for each leaf",
            key,
            'a setting belongs to a leaf: add for_each = "leaf"',
        )
