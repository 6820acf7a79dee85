"""Finds the faults of a guide: in its words, values and codes, and doors without a value."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from string import Formatter

from handsfree.controllers.door_kinds import EXAMPLES, described, holds, kinds_of_door, known
from handsfree.controllers.entry_order import circle_of
from handsfree.controllers.guide import (
    LEARN,
    Code,
    Control,
    Guide,
    Learn,
    Seen,
    Setting,
    SetUpStep,
)
from handsfree.controllers.worked_out import left_open
from handsfree.errors import HandsfreeError
from handsfree.job.closed_lists import COMPLAINTS
from handsfree.job.quantity import QUANTITIES, SETTINGS, Quantity
from handsfree.language.wording import languages
from handsfree.procedure.condition import exclusive_pairs
from handsfree.procedure.prompt_lint import MOST_WORDS, MOST_WORDS_IN_BRIEF, unspeakable
from handsfree.toml_source import TomlSource, nearest

_TEXTS = ("title", "language")
_TABLES = ("set_up", "learn", "setting", "code", "switch", "dial", "button")
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_SHOWN = re.compile(r"[A-Z0-9]{1,4}")
_BLINKS = re.compile(r"[1-9]( [1-9]){0,2}")
_BLANKS = ("called", "value")


def head_faults(source: TomlSource) -> Iterator[HandsfreeError]:
    """Faults of the keys above the first table, and tables that a guide cannot have."""
    known_keys = (*_TEXTS, *_TABLES)
    for key in source.data:
        if key not in known_keys:
            table = key if isinstance(source.data[key], dict | list) else ""
            yield source.fault(
                f"unknown key '{key}'", table, key=key, way_out=nearest(key, known_keys)
            )
    for key in _TEXTS:
        if not isinstance(source.data.get(key), str):
            yield source.fault(f"'{key}' is missing", key=key, way_out=f'begin with {key} = "..."')
    if isinstance(title := source.data.get("title"), str):
        yield from unspeakable(source, "", 0, "title", title, MOST_WORDS_IN_BRIEF)
    language = source.data.get("language")
    if isinstance(language, str) and language not in languages():
        way_out = nearest(language, languages())
        yield source.fault(f"unknown language '{language}'", key="language", way_out=way_out)


def step_faults(
    source: TomlSource, nth: int, step: SetUpStep, *, complete: bool
) -> Iterator[HandsfreeError]:
    """Faults within one step of the set-up.

    If the guide has to be ``complete``, a kind of door without a value is one too.
    """

    def fault(reason: str, key: str, way_out: str | None = None) -> HandsfreeError:
        return source.fault(f"set_up '{step.id}' {reason}", "set_up", nth, key, way_out)

    if not _ID.fullmatch(step.id) or step.id == LEARN:
        yield fault("has an id that is not a plain name", "id", "use small letters, digits and '-'")
    for key in ("name", "called", "say", "if_not", "why"):
        if text := getattr(step, key):
            most = MOST_WORDS if key in ("say", "if_not", "why") else MOST_WORDS_IN_BRIEF
            yield from unspeakable(source, "set_up", nth, key, text, most)
    if not step.why:
        yield fault("has no 'why'", "id", "say in one sentence what the step is for")
    if step.called is not None and step.place is None:
        example = "'entry three', 'switch two', 'dial one' or 'menu four'"
        yield fault(
            f"is called '{step.called}', which nobody can say", "called", f"such as {example}"
        )
    if step.value and step.called is None and step.control is None and step.say is None:
        yield fault("has a value and no place", "value", 'add called = "entry one"')
    if not step.value and step.say is None:
        yield fault("has neither 'say' nor 'value'", "id", 'add say = "what to do"')
    seen = (step, *step.value)
    for each in seen:
        yield from _seen_faults(source, "set_up", nth, each, f"set_up '{step.id}'")
    if step.before is not None and not _SHOWN.fullmatch(step.before):
        yield fault(f"has before = '{step.before}'", "before", _shown_way_out())
    for condition in step.conditions:
        if not known(condition):
            yield fault(
                f"has an unknown condition '{condition}'",
                "applies" if condition in step.applies else "value",
                nearest(condition.removeprefix("not "), EXAMPLES),
            )
    for conditions in (step.applies, *(value.when for value in step.value)):
        for one, other in exclusive_pairs(conditions):
            yield fault(f"can never apply: '{one}' and '{other}' exclude each other", "value")
    for value in step.value:
        yield from unspeakable(source, "set_up", nth, "value", value.say, MOST_WORDS_IN_BRIEF)
    if all(map(known, step.conditions)):
        if complete and (kind := left_open(step)) is not None:
            named = dict.fromkeys(c for value in step.value for c in value.when)
            yield source.fault(
                f"set_up '{step.id}' has no value for: {described(kind, named)}",
                "set_up", nth, "value", "add one, or say in applies which doors have this entry",
            )  # fmt: skip
        yield from _coverage_faults(source, nth, step)


def _coverage_faults(source: TomlSource, nth: int, step: SetUpStep) -> Iterator[HandsfreeError]:
    """Faults of the values of a step: one that no door uses, or two for the same door."""
    for value in step.value:
        if not _reached(step, value.when):
            yield source.fault(
                f"set_up '{step.id}' never uses the value '{value.say}'",
                "set_up", nth, "value", "a value before it holds for every such door",
            )  # fmt: skip
    for kind in kinds_of_door(step.conditions) if step.value else ():
        fit = [v for v in step.value if v.when and all(holds(each, kind) for each in v.when)]
        if len({value.say for value in fit}) > 1 and all(holds(c, kind) for c in step.applies):
            yield source.fault(
                f"set_up '{step.id}' has two values for: "
                f"{described(kind, (*fit[0].when, *fit[1].when))}",
                "set_up", nth, "value", "add a condition that tells them apart",
            )  # fmt: skip
            return


def _reached(step: SetUpStep, when: tuple[str, ...]) -> bool:
    """True if some door's first matching value is the one with these conditions."""
    for kind in kinds_of_door(step.conditions):
        if all(holds(condition, kind) for condition in step.applies):
            first = next((v for v in step.value if all(holds(c, kind) for c in v.when)), None)
            if first is not None and first.when == when:
                return True
    return False


def setting_faults(source: TomlSource, nth: int, setting: Setting) -> Iterator[HandsfreeError]:
    """Faults within one setting: its words, its scale, what it changes."""

    def fault(reason: str, key: str, way_out: str | None = None) -> HandsfreeError:
        return source.fault(f"setting '{setting.id}' {reason}", "setting", nth, key, way_out)

    if not _ID.fullmatch(setting.id):
        yield fault("has an id that is not a plain name", "id", "use small letters, digits and '-'")
    for key in ("name", "called", "save"):
        if text := getattr(setting, key):
            yield from unspeakable(source, "setting", nth, key, text, MOST_WORDS_IN_BRIEF)
    quantity = setting.quantity
    if quantity is not None and quantity not in SETTINGS:
        yield fault(f"is the quantity '{quantity}'", "quantity", nearest(quantity, SETTINGS))
        return
    widest = QUANTITIES[quantity or Quantity(SETTINGS[0])]
    for key in ("low", "high"):
        if not widest.low <= getattr(setting, key) <= widest.high:
            yield fault(
                f"has {key} = {getattr(setting, key)}, outside the range that can be dictated",
                key, f"a setting is from {widest.low} to {widest.high}",
            )  # fmt: skip
    if setting.low >= setting.high:
        yield fault(
            f"begins at {setting.low} and ends at {setting.high}", "low", "low must be below high"
        )
    elif setting.step <= 0 or (setting.high - setting.low) % setting.step:
        yield fault(
            f"cannot go from {setting.low} to {setting.high} in steps of {setting.step}",
            "step", "the step must divide the range",
        )  # fmt: skip
    elif not on_scale(setting, setting.default):
        yield fault(f"has default = {setting.default}, which is off its scale", "default")
    if setting.raises and setting.lowers:
        yield fault("has both raises and lowers", "raises", "a higher value does one of the two")
    for key in ("raises", "lowers"):
        named = getattr(setting, key)
        if named is not None and named not in tuple(Quantity):
            yield fault(f"has {key} = '{named}', no quantity", key, nearest(named, tuple(Quantity)))


def on_scale(setting: Setting, value: Decimal) -> bool:
    """True if the controller takes the value for the setting."""
    return setting.low <= value <= setting.high and not (value - setting.low) % setting.step


def code_faults(source: TomlSource, nth: int, code: Code) -> Iterator[HandsfreeError]:
    """Faults within one code."""

    def fault(reason: str, key: str, way_out: str | None = None) -> HandsfreeError:
        return source.fault(f"code '{code.mark}' {reason}", "code", nth, key, way_out)

    if code.mark is None:
        yield source.fault(
            f"code number {nth + 1} shows nothing",
            "code",
            nth,
            way_out='add shows = "..." or blinks',
        )
        return
    yield from _seen_faults(source, "code", nth, code, f"code '{code.mark}'")
    for key in ("means", "remedy"):
        yield from unspeakable(source, "code", nth, key, getattr(code, key), MOST_WORDS)
    if code.search is not None and code.search not in COMPLAINTS:
        yield fault(
            f"enters the search '{code.search}', which is not a complaint",
            "search", nearest(code.search, COMPLAINTS),
        )  # fmt: skip


def control_faults(
    source: TomlSource, table: str, nth: int, control: Control
) -> Iterator[HandsfreeError]:
    """Faults within the entry for a switch, a dial or a button."""
    yield from unspeakable(source, table, nth, "called", control.called, MOST_WORDS_IN_BRIEF)
    try:
        blanks = {name for _, name, _, _ in Formatter().parse(control.enter) if name is not None}
    except ValueError:
        blanks = {""}
    if blanks != set(_BLANKS):
        yield source.fault(
            f"{table} '{control.id}' does not say where its name and its value belong",
            table, nth, "enter", 'such as enter = "Put {called} {value}."',
        )  # fmt: skip
    else:
        bare = control.enter.replace("{called}", "").replace("{value}", "")
        yield from unspeakable(source, table, nth, "enter", bare, MOST_WORDS)


def learn_faults(source: TomlSource, learn: Learn) -> Iterator[HandsfreeError]:
    """Faults in the words of the learn cycle, and endings that look alike."""
    texts = [(key, getattr(learn, key)) for key in ("start", "seen")]
    texts += [(key, text) for key in ("before", "after") for text in getattr(learn, key)]
    texts += [(key, getattr(learn, key).say) for key in ("success", "failure")]
    for key, text in texts:
        yield from unspeakable(source, "learn", 0, key, text, MOST_WORDS)
    for key in ("success", "failure"):
        yield from _seen_faults(source, "learn", 0, getattr(learn, key), "learn", key)
    if learn.success.mark is not None and learn.success.mark == learn.failure.mark:
        yield source.fault(
            "success and failure of [learn] look the same", "learn", 0, "failure",
            "say how they differ",
        )  # fmt: skip


def shape_faults(source: TomlSource, guide: Guide) -> Iterator[HandsfreeError]:
    """Faults between the tables: unknown names, repeated names, and circles."""
    steps = [step.id for step in guide.set_up]
    yield from _twice(source, "set_up", steps)
    yield from _twice(source, "setting", [setting.id for setting in guide.settings])
    yield from _twice(source, "code", [code.mark or "" for code in guide.codes], "shows")
    controls = [control.id for control in guide.controls]
    for nth, step in enumerate(guide.set_up):
        named = [*(("needs", each) for each in step.needs), ("saved_by", step.saved_by)]
        for key, each in named:
            if each is not None and each not in steps:
                yield source.fault(
                    f"set_up '{step.id}' names '{each}', which is not there",
                    "set_up", nth, key, nearest(each, steps),
                )  # fmt: skip
        if step.control is not None and step.control not in controls:
            yield source.fault(
                f"set_up '{step.id}' is made with '{step.control}', which is not there",
                "set_up", nth, "control", nearest(step.control, controls),
            )  # fmt: skip
    for nth, code in enumerate(guide.codes):
        if code.entry is not None and code.entry not in steps:
            yield source.fault(
                f"code '{code.mark}' leads to '{code.entry}', which is not there",
                "code", nth, "entry", nearest(code.entry, steps),
            )  # fmt: skip
    lead = {s.id: (*s.needs, *((s.saved_by,) if s.saved_by else ())) for s in guide.set_up}
    if circle := circle_of(lead):
        yield source.fault(
            f"steps that need each other: {' needs '.join(circle)}",
            "set_up", steps.index(circle[0]), "needs", "take one of them out",
        )  # fmt: skip


def _twice(
    source: TomlSource, table: str, names: list[str], key: str = "id"
) -> Iterator[HandsfreeError]:
    for nth, name in enumerate(names):
        if name in names[:nth]:
            yield source.fault(f"'{name}' is there twice", table, nth, key, "give each its own")


def _seen_faults(
    source: TomlSource, table: str, nth: int, seen: Seen, name: str, key: str = ""
) -> Iterator[HandsfreeError]:
    if seen.shows is not None and not _SHOWN.fullmatch(seen.shows):
        yield source.fault(
            f"{name} has shows = '{seen.shows}'", table, nth, key or "shows", _shown_way_out()
        )
    if seen.blinks is not None and not _BLINKS.fullmatch(seen.blinks):
        yield source.fault(
            f"{name} has blinks = '{seen.blinks}'", table, nth, key or "blinks",
            "write the counts with a space between them, such as '2 3'",
        )  # fmt: skip
    if seen.shows is not None and seen.blinks is not None:
        yield source.fault(
            f"{name} has both shows and blinks", table, nth, key or "blinks", "keep one"
        )


def _shown_way_out() -> str:
    return "write one to four capital letters and digits, such as 'A1'"
