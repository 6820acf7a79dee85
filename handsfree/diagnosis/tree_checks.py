"""Finds the faults of a search tree: in its words, its answers, and where they lead."""

from __future__ import annotations

import re
from collections.abc import Iterator

from handsfree.diagnosis.search_tree import Cause, Check, SearchTree
from handsfree.errors import HandsfreeError
from handsfree.procedure.condition import CONDITIONS, exclusive_pairs, feature_of
from handsfree.procedure.prompt_lint import unspeakable
from handsfree.toml_source import TomlSource, nearest

_HEAD = ("title", "complaint", "first", "check", "cause")
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_NAME = re.compile(r"[a-z0-9]+(_[a-z0-9]+)*")
_CHECK_TEXTS = ("ask", "caution", "why")
_CAUSE_TEXTS = ("found", "remedy", "prove")
_CAUTION_WORD = "clear"


def head_faults(source: TomlSource) -> Iterator[HandsfreeError]:
    """Faults of the keys above the first table."""
    for key in source.data:
        if key not in _HEAD:
            yield source.fault(f"unknown key '{key}'", key=key, way_out=nearest(key, _HEAD))
    for key in ("title", "complaint", "first"):
        value = source.data.get(key)
        if not isinstance(value, str):
            yield source.fault(f"'{key}' is missing", way_out=f'begin the file with {key} = "..."')
        elif key != "first":
            yield from unspeakable(source, "", 0, key, value)


def node_faults(
    source: TomlSource, table: str, nth: int, node: Check | Cause
) -> Iterator[HandsfreeError]:
    """Faults within one check or cause."""

    def fault(reason: str, key: str, way_out: str | None = None) -> HandsfreeError:
        return source.fault(f"{table} '{node.id}' {reason}", table, nth, key, way_out)

    if not _ID.fullmatch(node.id):
        yield fault("has an id that is not a plain name", "id", "use small letters, digits and '-'")
    for key in _CHECK_TEXTS if isinstance(node, Check) else _CAUSE_TEXTS:
        if text := getattr(node, key):
            yield from unspeakable(source, table, nth, key, text)
    if isinstance(node, Cause):
        return
    if not _NAME.fullmatch(node.sees):
        yield fault("sees something that is not a plain name", "sees", "use letters and '_'")
    if not node.why:
        yield fault("has no 'why'", "id", "say in one sentence what the check tells apart")
    if (node.caution is None) != (node.word is None):
        yield fault("needs both caution and word, or neither", "caution", 'add word = "clear"')
    elif node.word not in (None, _CAUTION_WORD):
        yield fault(f"has the word '{node.word}', which no caution knows", "word", 'use "clear"')
    if node.answers and len(node.answers) < 2:
        yield fault("has a single answer", "answers", "a check needs two answers or more")
    for value, spoken in node.answers.items():
        if not _NAME.fullmatch(value):
            yield fault(f"has the answer '{value}'", "answers", "use letters and '_'")
        yield from unspeakable(source, table, nth, "answers", spoken)
    for missing in set(node.choices) - set(node.on):
        yield fault(f"leads nowhere when the answer is '{missing}'", "on", f'add {missing} = "..."')
    for unknown in set(node.on) - set(node.choices):
        yield fault(
            f"leads on from '{unknown}', which is no answer to it",
            "on",
            nearest(unknown, node.choices),
        )
    if bool(node.applies) != (node.otherwise is not None):
        yield fault(
            "needs both applies and otherwise, or neither",
            "applies" if node.applies else "otherwise",
            "otherwise says where the search continues on other doors",
        )
    for condition in node.applies:
        name = condition.removeprefix("not ")
        if name not in CONDITIONS and feature_of(name) is None:
            way_out = nearest(name, CONDITIONS)
            yield fault(f"has an unknown condition '{condition}'", "applies", way_out)
    for one, other in exclusive_pairs(node.applies):
        yield fault(f"can never apply: '{one}' and '{other}' exclude each other", "applies")


def shape_faults(source: TomlSource, tree: SearchTree) -> Iterator[HandsfreeError]:
    """Faults of the tree as a whole: every answer leads on, every path ends in a cause."""
    places: dict[str, tuple[str, int]] = {}
    for table, ids in (("check", _ids(tree.checks)), ("cause", _ids(tree.causes))):
        for nth, node_id in enumerate(ids):
            if node_id in places:
                reason = f"the id '{node_id}' is there twice"
                yield source.fault(reason, table, nth, "id", "give it another id")
            places.setdefault(node_id, (table, nth))
    lost = tree.first not in places
    if lost:
        reason = f"begins at '{tree.first}', which is not there"
        yield source.fault(reason, key="first", way_out=nearest(tree.first, _ids(tree.checks)))
    for nth, check in enumerate(tree.checks):
        for target in check.targets:
            if target not in places:
                lost = True
                reason = f"check '{check.id}' leads to '{target}', which is not there"
                key = "otherwise" if target == check.otherwise else "on"
                yield source.fault(reason, "check", nth, key, nearest(target, places))
    if lost:
        return
    seen, circle = _walk(tree)
    if circle is not None:
        reason = f"check '{circle}' leads back to itself"
        nth = _ids(tree.checks).index(circle)
        yield source.fault(reason, "check", nth, "on", "every answer has to lead nearer to a cause")
        return
    for node_id, (table, nth) in places.items():
        if node_id not in seen:
            reason = f"nothing leads to {table} '{node_id}'"
            yield source.fault(reason, table, nth, "id", "lead to it, or take it out")


def _ids(nodes: tuple[Check, ...] | tuple[Cause, ...]) -> list[str]:
    return [node.id for node in nodes]


def _walk(tree: SearchTree) -> tuple[set[str], str | None]:
    """The ids that a search can reach, and a check that can lead back to itself, or None."""
    seen: set[str] = set()

    def visit(node_id: str, above: tuple[str, ...]) -> str | None:
        if node_id in above:
            return node_id
        if node_id in seen:
            return None
        seen.add(node_id)
        node = tree.node(node_id)
        if isinstance(node, Check):
            for target in node.targets:
                if (circle := visit(target, (*above, node_id))) is not None:
                    return circle
        return None

    return seen, visit(tree.first, ())
