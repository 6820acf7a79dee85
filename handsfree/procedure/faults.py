"""What can be wrong with one step of a procedure, each fault with line and way out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import combinations
from string import Formatter
from typing import get_args

from handsfree.errors import HandsfreeError
from handsfree.job.opening import Action, Lock, Side, Swing, WeightSource
from handsfree.procedure.step import Condition, Step
from handsfree.toml_source import TomlSource, nearest

CONDITIONS: tuple[str, ...] = get_args(Condition)
CAUTION_WORDS = ("clear",)
CHOICES = (
    *("left", "right", "both", "push", "pull", "single", "pair", "same_way", "double_egress"),
    *("label", "scale", "estimate", "in_order", "not_in_order", "none", "latch", "strike"),
)
# Facts that change the record of the opening take only the values which it knows.
FACT_VALUES: dict[str, tuple[str, ...]] = {
    "hinge_side": tuple(Side),
    "leaf": tuple(Side),
    "hand": tuple(Side),
    "action": tuple(Action),
    "weight_source": tuple(WeightSource),
    "swing": tuple(Swing),
    "lock": tuple(Lock),
}
_EXCLUDE: tuple[set[str], ...] = (
    {"single", "pair"},
    {"single", "same_way"},
    {"single", "double_egress"},
    {"same_way", "double_egress"},
    {"not single", "not pair"},
    {"same_way", "not pair"},
    {"double_egress", "not pair"},
    {"strike", "not lock"},
)
"""Conditions that are never true together, besides those with their own 'not'."""
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_SPOKEN = ("prompt", "brief", "caution", "adjust", "why")
_PUNCTUATION = " ,.?;:'-"


def step_faults(
    source: TomlSource, nth: int, step: Step, stages: list[str]
) -> Iterator[HandsfreeError]:
    """Every fault of the ``nth`` step of a file, with its line."""

    def fault(reason: str, key: str | None = None, way_out: str | None = None) -> HandsfreeError:
        return source.fault(f"step '{step.id}' {reason}", "step", nth, key, way_out)

    if not _ID.fullmatch(step.id):
        yield fault("has an id that is no plain name", "id", "use small letters, digits and '-'")
    if step.stage not in stages:
        yield fault(f"has an unknown stage '{step.stage}'", "stage", nearest(step.stage, stages))
    for condition in step.applies:
        if condition.removeprefix("not ") not in CONDITIONS:
            yield fault(
                f"has an unknown condition '{condition}'",
                "applies",
                nearest(condition.removeprefix("not "), CONDITIONS),
            )
    for key in _SPOKEN:
        if (text := getattr(step, key)) is not None:
            yield from _placeholder_faults(source, nth, step, key, text)
            yield from unspeakable(source, "step", nth, key, text.replace("{subject}", ""))
    for one, other in _never_together(step.applies):
        yield fault(
            f"can never apply: '{one}' and '{other}' are never true together",
            "applies",
            "take one of them out",
        )
    if (step.caution is not None or step.waits == "caution") and step.word is None:
        yield fault("has a caution without word", "caution", 'add word = "clear"')
    if step.caution is None and step.waits == "caution":
        yield fault("waits for a caution and has none", "waits", 'add caution = "..."')
    if step.word is not None and step.word not in CAUTION_WORDS:
        yield fault(
            f"has the word '{step.word}', which no caution knows", "word", 'use word = "clear"'
        )
    if step.waits == "reading" and step.quantity is None:
        yield fault("waits for a reading without quantity", "waits", 'add quantity = "..."')
    if step.waits == "choice" and not step.options:
        yield fault("waits for a choice without options", "waits", "add options = [...]")
    if step.waits in ("choice", "observation") and step.fact is None:
        yield fault(f"waits for a {step.waits} without fact", "waits", 'add fact = "..."')
    for option in step.options:
        known = FACT_VALUES.get(step.fact or "", CHOICES)
        if option.value not in known or option.value not in CHOICES:
            yield fault(
                f"has an option '{option.value}', which nobody can say here",
                "options",
                nearest(option.value, [value for value in known if value in CHOICES]),
            )
        yield from unspeakable(source, "step", nth, "options", option.say)
    if step.attempts < 1:
        yield fault("has attempts below 1", "attempts", "use a whole number from 1")
    if (step.attempts > 1) != (step.adjust is not None):
        yield fault(
            "needs both attempts above 1 and adjust, or neither",
            "attempts" if step.adjust is None else "adjust",
            "adjust says what to turn before it is measured again",
        )
    if not step.why:
        yield fault("has no 'why'", way_out="say in one sentence what the step is for")


def _placeholder_faults(
    source: TomlSource, nth: int, step: Step, key: str, text: str
) -> Iterator[HandsfreeError]:
    try:
        names = [name for _, name, _, _ in Formatter().parse(text) if name is not None]
    except ValueError:
        yield source.fault(f"step '{step.id}' has an unmatched brace in {key}", "step", nth, key)
        return
    for name in names:
        if name != "subject":
            yield source.fault(
                f"step '{step.id}' has an unknown placeholder '{{{name}}}'",
                "step", nth, key, "the only one is {subject}",
            )  # fmt: skip
    if key in ("prompt", "brief") and step.for_each != "opening" and not names:
        yield source.fault(
            f"step '{step.id}' repeats for each {step.for_each} and its {key} does not say which",
            "step", nth, key, "write {subject} where it belongs",
        )  # fmt: skip


def unspeakable(
    source: TomlSource, table: str, nth: int, key: str, text: str
) -> Iterator[HandsfreeError]:
    """What a voice would stumble over, each letter once."""
    for letter in dict.fromkeys(text):
        if not (letter.isalpha() or letter in _PUNCTUATION):
            yield source.fault(
                f"'{letter}' in {key} cannot be spoken", table, nth, key, "write it as words"
            )


def _never_together(conditions: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Pairs of a step's conditions that exclude each other."""
    for one, other in combinations(conditions, 2):
        opposite = f"not {one}" == other or one == f"not {other}"
        if opposite or {one, other} in _EXCLUDE:
            yield one, other
