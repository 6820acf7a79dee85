"""Plain English words for the office about meanings, steps, facts and events."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from handsfree.checks import number_format
from handsfree.job.finding import Finding
from handsfree.job.job import Fact
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Reading, Subject
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.journal.plain_words import step_words, words_of
from handsfree.language.meaning import VisitFactSaid
from handsfree.language.visit_fact_words import fact_name, shown_value
from handsfree.language.wording import wording

_WORDS = {
    "affirm": "yes, that is right",
    "negative": "no, that is wrong",
    "clear": "the word of the caution",
    "disregard": "drop what waits",
    "say_again": "a wish to hear the last prompt again",
    "how_do_you_read": "a sound check",
    "where_am_i": "a question: where am I",
    "what_is_left": "a question: what is left",
    "what_is_the_limit": "a question: what is the limit",
    "why": "a question: why",
    "help": "a call for help",
    "done": "the step is done",
    "skip": "skip this step",
    "go_back": "go back a step",
    "withdraw": "take the last reading back",
    "what_did_we_set": "a question: what did we set",
    "note": "a note follows",
    "cancel_clock": "call the clock off",
    "refused": "refused by the owner",
}
_EVERYDAY = {"affirm": "yes", "negative": "no"}
SECOND_EAR = {
    "agreed": "a second ear heard the same",
    "chosen": "a second ear heard another value; asked, the technician said this one",
}
"""The result of a second ear for a reading."""


_QUANTITY_WORDS = {str(quantity): facts.spoken for quantity, facts in QUANTITIES.items()}


def quantity_words(quantity: str | None) -> str:
    """A quantity's spoken name; an unknown one is returned unchanged."""
    if quantity is None:
        return ""
    known = _QUANTITY_WORDS.get(quantity)
    return words_of(quantity) if known is None else known


def reading_words(reading: Reading) -> str:
    """'left leaf, opening time, 6.20 s'."""
    return f"{reading.subject}, {quantity_words(reading.quantity)}, {reading.measure}"


def fact_words(fact: Fact) -> str:
    """'left leaf, hinge side: left'."""
    return f"{fact.subject}, {words_of(fact.name)}: {words_of(fact.value)}"


def visit_fact_line(name: str, subject: Subject, value: str = "") -> str:
    """A fact of the visit in one line: 'serial number of the operator, left leaf: A742'."""
    w = wording()
    what = fact_name(w, name, subject)
    return f"{what}: {shown_value(w, name, value)}" if value else what


def taken_for(meaning: Mapping[str, Any] | None) -> str:
    """The meaning of an utterance in plain words; '' if it was not understood.

    A meaning of an unknown kind is described by its fields.
    """
    if meaning is None:
        return ""
    kind = str(meaning.get("kind", ""))
    match kind:
        case "reading":
            return _said(meaning)
        case "readings":
            return "; ".join(_said(each) for each in meaning.get("readings", ()))
        case "correction":
            return f"a correction: {_said(meaning.get('reading', {}))}"
        case "choice":
            noun = f" {meaning['noun']}" if meaning.get("noun") else ""
            both = ", for all of them" if meaning.get("both") else ""
            return f"{words_of(str(meaning.get('value', '')))}{noun}{both}"
        case "fact":
            named = f"{meaning.get('subject')}, {words_of(str(meaning.get('name')))}"
            return f"{named}: {words_of(str(meaning.get('value')))}"
        case "read_back":
            about = [meaning.get("subject"), quantity_words(meaning.get("quantity"))]
            return f"read back {', '.join(str(each) for each in about if each) or 'everything'}"
        case "start_clock":
            return f"start the clock{_comma(meaning.get('subject'))}"
        case "measure_leaf":
            return f"measure the leaf{_comma(meaning.get('subject'))}"
        case "withdraw_run":
            return f"take run {meaning.get('value')} back"
        case "found":
            subject = meaning.get("subject")
            return (
                f"a fault: {f'{subject}, ' if subject else ''}{words_of(str(meaning.get('value')))}"
            )
        case "worked":
            part = words_of(str(meaning.get("part") or ""))
            return f"{words_of(str(meaning.get('value')))}{_comma(part)}"
        case "go_to":
            return f"go to {step_words(str(meaning.get('stage')))}"
        case "skip_stage":
            return f"skip the {step_words(str(meaning.get('stage')))}"
        case "code" | "what_means":
            code = str(meaning.get("code", ""))
            shown = f"{' '.join(code)} blinks" if meaning.get("light") else code
            return f"it shows {shown}" if kind == "code" else f"a question: what {shown} means"
        case "entered":
            return f"{meaning.get('control')} {meaning.get('value')} is {meaning.get('code')}"
        case "visit_fact" if meaning.get("fact") in VISIT_FACTS:
            said = VisitFactSaid.model_validate(meaning)
            what = visit_fact_line(said.fact, said.subject or Subject.OPENING, said.value or "")
            return f"take back {what}" if said.withdrawn else what
        case "go_to_entry":
            return f"go to {meaning.get('control')} {meaning.get('value')}"
        case _:
            everyday = _EVERYDAY.get(kind) if meaning.get("everyday") else None
            return everyday or _WORDS.get(kind, words_of(kind))


def _said(reading: Mapping[str, Any]) -> str:
    """A reading with the parts that were said."""
    unit = reading.get("unit")
    value = f"{reading.get('value')}{'' if unit in (None, '1', 'step') else f' {unit}'}"
    parts = (reading.get("subject"), quantity_words(reading.get("quantity")), value)
    return ", ".join(str(part) for part in parts if part)


def _comma(text: object) -> str:
    return f", {text}" if text else ""


def figure(value: Decimal, apart_from: Decimal | None = None) -> str:
    """A number for display: as spoken, or rounded to hundredths if it was computed.

    A computed number is never rounded to the value ``apart_from``, such as its limit.
    """
    if not value.is_finite() or abs(value) >= 10**9:
        return str(value)
    exponent = value.as_tuple().exponent
    if isinstance(exponent, int) and -exponent > 2:
        return number_format.figure(value, apart_from)
    return f"{value:f}"


def with_unit(value: Decimal, unit: str, apart_from: Decimal | None = None) -> str:
    """A value with its unit: '3.67 s', '12' for a count, '90°' for an angle."""
    shown = figure(value, apart_from)
    if unit in ("1", "step", ""):
        return shown
    return f"{shown}°" if unit == "deg" else f"{shown} {unit}"


def finding_words(found: Finding) -> str:
    """A finding in short: 'left leaf: opening time 2.5 s, at least 3.5 s'."""
    what = QUANTITIES[found.quantity].spoken if found.quantity else words_of(found.rule)
    rule = words_of(found.rule)
    name = rule if what in rule or not what else f"{what}, {rule}"
    name = what if rule == what else name
    if found.reading is None:
        return f"{found.subject}: {name}"
    limit = "" if found.limit is None else f", {found.bound} {with_unit(found.limit, found.unit)}"
    return f"{found.subject}: {name} {with_unit(found.reading, found.unit, found.limit)}{limit}"
