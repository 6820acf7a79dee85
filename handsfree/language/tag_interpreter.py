"""Converts the tags of a sentence to its meaning.

A tag is either digits of a number ('5', '.25') or ``name = value``. ``times = 12`` makes the digits
before it a number of feet, counted in inches. Names and values are checked
when the grammar is loaded, so that a wrong one is reported with its line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any, get_args

from handsfree.errors import GrammarError
from handsfree.job.closed_lists import CHOICES, STAGES
from handsfree.job.door_feature import FEATURES, YES_NO
from handsfree.job.fault_kinds import FAULT_KINDS, MISTAKEN, PARTS, WORKS
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.language.item_answers import ITEM_FACTS, STATES
from handsfree.language.meaning import MEANING, Meaning, Word
from handsfree.language.spoken_number import is_digits, number_of
from handsfree.language.syntax_tree import Grammar, Rule, Tagged, walk

WORD_KINDS: frozenset[str] = frozenset(get_args(Word.model_fields["kind"].annotation))
KINDS = WORD_KINDS | {
    *("reading", "readings", "correction", "choice", "fact", "read_back", "start_clock", "go_to"),
    "skip_stage",
    *("measure_leaf", "withdraw_run", "found", "worked", "how_far"),
    *("items", "code", "what_means", "go_to_entry", "entered", "visit_fact"),
}
MARKS = frozenset({"go", "check", "open", "closing", "ten", "shut", "cancel"})
"""Words that mark the moments of a cycle, and the word that cancels it."""

_VALUES: dict[str, frozenset[str]] = {
    "kind": KINDS,
    "subject": frozenset(Subject),
    "quantity": frozenset(Quantity),
    "unit": frozenset(Unit),
    "open_time": frozenset({"true"}),
    "both": frozenset({"true"}),
    "everyday": frozenset({"true"}),
    "end": frozenset({"reading", "item"}),
    "times": frozenset({"12"}),
    "stage": frozenset(STAGES),
    "mark": MARKS,
    "side": frozenset({"left", "right"}),
    "together": frozenset({"true"}),
    "name": frozenset(
        {"leaf", "hand", "hinge_side", "action", "weight_source"}.union(FEATURES, ITEM_FACTS)
    ),
    "noun": frozenset({"leaf", "hand", "side"}),
    "value": frozenset((*CHOICES, *YES_NO, *FAULT_KINDS, *WORKS, MISTAKEN)),
    "part": frozenset(PARTS),
    "state": frozenset(STATES),
    "sign": frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"),
    "light": frozenset({"true"}),
    "fact": frozenset(VISIT_FACTS),
    "answer": frozenset(value for fact in VISIT_FACTS.values() for value in fact.values),
    "month": frozenset(f"{month:02d}" for month in range(1, 13)),
    "withdrawn": frozenset({"true"}),
    "control": frozenset({"entry", "switch", "dial", "button", "menu"}),
}


def check_tags(grammar: Grammar) -> None:
    """Raises GrammarError, with file and line, for an unknown tag."""
    for rule in grammar.rules.values():
        for node in walk(rule.expansion):
            if isinstance(node, Tagged):
                _check(node, rule)


def _check(node: Tagged, rule: Rule) -> None:
    if is_digits(node.tag):
        return
    name, value = _split(node.tag)
    if name not in _VALUES:
        problem = f"the tag {{{node.tag}}} is neither digits nor 'name = value'"
        known = ", ".join(_VALUES)
    elif value not in _VALUES[name]:
        problem = f"the tag {{{node.tag}}} has no known value"
        known = ", ".join(sorted(_VALUES[name]))
    else:
        return
    raise GrammarError(
        problem, file=rule.file, line=node.line, way_out=f"{name or 'names'} known: {known}"
    )


def _split(tag: str) -> tuple[str, str]:
    name, _, value = tag.partition("=")
    return name.strip(), value.strip()


def meaning_of(tags: Iterable[str]) -> Meaning:
    """Builds the meaning from checked tags.

    Raises BadValue or pydantic's ValidationError if they are not the tags of one complete meaning;
    no sentence of the shipped grammar has such tags (tested).
    """
    readings: list[dict[str, Any]] = []
    some: list[str] = []
    for tag in tags:
        if tag.startswith("end"):
            readings.append(_fields(some))
            some = []
        else:
            some.append(tag)
    fields = _fields(some)
    if fields.get("kind") == "items":
        fields["items"] = readings
    elif readings:
        fields["readings"] = [
            {"subject": subject, **reading, "kind": "reading"}
            for subject, reading in zip(_carried(readings), readings, strict=True)
        ]
    if fields.get("kind") == "correction":
        del fields["kind"]
        fields = {"kind": "correction", "reading": fields}
    return MEANING.validate_python(fields)


def _fields(tags: Iterable[str]) -> dict[str, Any]:
    digits: list[str] = []
    above = Decimal(0)  # of feet and inches, the feet as inches
    fields: dict[str, Any] = {}
    for tag in tags:
        if is_digits(tag):
            digits.append(tag)
        elif tag.startswith("times"):
            above, digits = number_of(digits) * Decimal(_split(tag)[1]), []
        else:
            name, value = _split(tag)
            if name == "sign":  # a code is its characters in the order of the words
                fields["code"] = fields.get("code", "") + value
            else:
                fields[name] = value
    if digits:
        fields["value"] = above + number_of(digits)
    return fields


def _carried(readings: Iterable[dict[str, Any]]) -> Iterator[str | None]:
    """The leaf of each reading: its own, or the last one named."""
    subject: str | None = None
    for reading in readings:
        subject = reading.get("subject", subject)
        yield subject
