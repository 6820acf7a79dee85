"""Every language has all of English, and what it reads back it understands."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from decimal import ROUND_DOWN, Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import handsfree
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit, family_of
from handsfree.language.interpreter import Language
from handsfree.language.meaning import ReadingSaid
from handsfree.language.wording import Wording, languages, placeholders, wording
from handsfree.timing.cycle import WORDS

from .language.test_wording import SUBJECTS, VALUES, WHOLE_ONLY

ENGLISH, SPANISH = wording("en"), wording("es")
OTHERS = [wording(language) for language in languages() if language != "en"]

# What is typed, what sounds alike and what else can be said is each language's own. English
# names most rules by their quantity, and has one decimal mark.
OWN_KEYS = {"symbol", "short", "alike", "another", "misheard"}
MORE_KEYS = {"digit": {","}, "rule": {facts.spoken for facts in QUANTITIES.values()}}


@pytest.fixture(scope="module")
def spanish() -> Language:
    return Language.load(language="es")


def forms(sentence: str | list[str]) -> list[str]:
    return sentence if isinstance(sentence, list) else [sentence]


# --- the same names and sentences


@pytest.mark.parametrize("language", languages())
def test_the_word_of_each_moment_is_the_one_that_the_grammar_hears(language: str):
    spoken, heard = wording(language), Language.load(language=language)
    for word, moment in WORDS.items():
        assert heard.mark(spoken.names["moment"][moment.name.lower()]) == word


@pytest.mark.parametrize("other", OTHERS, ids=lambda w: w.language)
@pytest.mark.parametrize("table", sorted(ENGLISH.names.keys() - OWN_KEYS))
def test_every_table_has_the_names_of_english(other: Wording, table: str):
    names, english = other.names[table].keys(), ENGLISH.names[table].keys()
    assert names - MORE_KEYS.get(table, set()) == english


def test_spanish_names_every_rule_that_english_names_by_its_quantity():
    assert {facts.spoken for facts in QUANTITIES.values()} <= SPANISH.names["rule"].keys()


@pytest.mark.parametrize("other", OTHERS, ids=lambda w: w.language)
def test_every_sentence_takes_the_values_of_english(other: Wording):
    assert other.sentences.keys() == ENGLISH.sentences.keys()
    for name, english in ENGLISH.sentences.items():
        said = other.sentences[name]
        assert isinstance(said, list) == isinstance(english, list), name
        assert [placeholders(form) for form in forms(said)] == [
            placeholders(form) for form in forms(english)
        ], name


@pytest.mark.parametrize("w", [ENGLISH, *OTHERS], ids=lambda w: w.language)
def test_everything_that_is_measured_has_a_name(w: Wording):
    assert w.names["quantity"].keys() == set(Quantity)
    assert w.names["subject"].keys() == set(Subject)
    assert w.names["unit"].keys() == set(Unit)
    assert {QUANTITIES[quantity].family for quantity in Quantity} <= w.names["family"].keys()
    assert all(len(forms) == 2 for forms in w.names["unit"].values())


def test_the_english_names_of_quantities_are_those_of_the_findings():
    assert ENGLISH.names["quantity"] == {q: facts.spoken for q, facts in QUANTITIES.items()}


# --- words that a voice can say, and no English among them


@pytest.mark.parametrize("w", [ENGLISH, *OTHERS], ids=lambda w: w.language)
def test_sentences_are_words_and_punctuation(w: Wording):
    for name, sentence in w.sentences.items():
        for form in forms(sentence):
            bare = re.sub(r"\{[a-z_]+\}", "", form)
            assert all(c.isalpha() or c in " ,.;:?¿'" for c in bare), (name, bare)


# Values only, or a word that both languages write alike.
SAME_SENTENCE = {"fact", "settled"}
SAME_NAME = {"newton", "newtons", "joule", "joules", "mineral", ""}


@pytest.mark.parametrize("other", OTHERS, ids=lambda w: w.language)
def test_nothing_was_left_in_english(other: Wording):
    same = {name for name in ENGLISH.sentences if other.sentences[name] == ENGLISH.sentences[name]}
    assert same == SAME_SENTENCE
    for table in ENGLISH.names.keys() - OWN_KEYS:
        for key, english in ENGLISH.names[table].items():
            both = set(forms(english)) & set(forms(other.names[table][key]))
            assert both <= SAME_NAME, (table, key)


# --- what is read back, and what the tool says that people should say


UNITS_OF = {
    quantity: [unit for unit in Unit if family_of(unit) is QUANTITIES[quantity].family]
    for quantity in Quantity
}
READ = [
    (subject, quantity, unit)
    for quantity, units in UNITS_OF.items()
    for unit in units
    for subject in (None, *SUBJECTS[quantity])
]


@pytest.mark.parametrize("quantity", Quantity)
def test_every_reading_is_read_back_in_spanish_as_what_it_is(spanish: Language, quantity):
    for subject, of_quantity, unit in READ:
        if of_quantity is quantity:
            said = SPANISH.reading(subject, quantity, Decimal(12), unit)
            assert spanish.parse(said) == ReadingSaid(
                subject=subject, quantity=quantity, value=Decimal(12), unit=unit
            ), said


@given(about=st.sampled_from(READ), value=VALUES)
def test_every_value_keeps_its_zeros_in_spanish(spanish: Language, about, value):
    subject, quantity, unit = about
    value = value.to_integral_value(ROUND_DOWN) if unit in WHOLE_ONLY else value
    said = spanish.parse(SPANISH.reading(subject, quantity, value, unit))
    assert said == ReadingSaid(subject=subject, quantity=quantity, value=value, unit=unit)
    assert str(said.value) == str(value)


@pytest.mark.parametrize(
    ("typed", "said"), [("6,2", "seis coma dos"), ("6.20", "seis coma dos cero")]
)
def test_either_decimal_mark_may_be_typed(spanish: Language, typed: str, said: str):
    assert spanish.parse(f"tiempo de apertura {typed} s") == spanish.parse(
        f"tiempo de apertura {said} segundos"
    )
    assert SPANISH.number(spanish.parse(f"tiempo de apertura {typed}").value) == said


# What the sentences that name a phrase tell people to say.
SUGGESTED = {
    "affirm_or_negative": ("afirmativo", "negativo"),
    "nothing_waits": ("retire eso",),
    "which_quantity": ("hoja izquierda tiempo de apertura seis coma dos",),
    "which_leaf": ("izquierda", "derecha"),
    "type_it": ("espere",),
    "yes_or_type": ("sí", "no"),
    "wait_observation": ("en orden", "no está en orden"),
    "wait_done": ("listo",),
    "or_skip": ("omita",),
    "wait_word": ("se hará después", "no aplica", "rechazado por el dueño"),
    "wait_word_wrong": ("se hará después", "rechazado por el dueño"),
    "skip_reason": ("ignore",),
    "standing_by": ("continúe",),
    "stopped": ("continúe",),
    "measure_again": ("siguiente",),
    "withdraw": ("así es",),
    "challenge": ("así es",),
}


@pytest.mark.parametrize(("name", "phrases"), SUGGESTED.items())
def test_what_the_tool_suggests_can_be_said(spanish: Language, name: str, phrases):
    for phrase in phrases:
        assert phrase in SPANISH.sentences[name].lower()
        assert spanish.parse(phrase) is not None, phrase


def test_what_can_be_said_at_any_time_can_be_said(spanish: Language):
    _, listed = SPANISH.say("always").rstrip(".").split(": ")
    for phrase in listed.split(", "):
        assert spanish.parse(phrase.removeprefix("o ")) is not None, phrase


@pytest.mark.parametrize(
    "key", ["clear", "in_order", "not_in_order", "left", "right", "push", "pull"]
)
def test_words_that_answer_are_sentences(spanish: Language, key: str):
    assert getattr(spanish.parse(SPANISH.name("word", key)), "value", "clear") == key


# --- the code and the sentences

SOURCES = sorted(Path(handsfree.__file__).parent.rglob("*.py"))


def spoken_names(source: str) -> Iterator[ast.expr]:
    """The first argument of every ``.say(...)`` and ``.tell(...)``."""
    for node in ast.walk(ast.parse(source)):
        called = node.func if isinstance(node, ast.Call) and node.args else None
        if isinstance(called, ast.Attribute) and called.attr in ("say", "tell"):
            yield node.args[0]


def literals(node: ast.AST) -> set[str]:
    """Every string in a piece of code."""
    values = (each.value for each in ast.walk(node) if isinstance(each, ast.Constant))
    return {value for value in values if isinstance(value, str)}


def test_the_code_asks_for_sentences_that_exist():
    for file in SOURCES:
        for asked in spoken_names(file.read_text(encoding="utf-8")):
            if isinstance(asked, ast.Constant):
                names = {asked.value}
            elif isinstance(asked, ast.IfExp):
                names = literals(asked.body) | literals(asked.orelse)
            else:
                continue
            assert names <= ENGLISH.sentences.keys(), (file.name, names)


def test_every_sentence_is_asked_for():
    whole: set[str] = set()
    patterns: list[str] = []
    for file in SOURCES:
        tree = ast.parse(file.read_text(encoding="utf-8"))
        whole |= literals(tree)
        for node in ast.walk(tree):
            if isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
                begins = str(node.values[0].value)
                if re.fullmatch(r"(clock|fault|level|move|open|weight_from)_", begins):
                    patterns.append(begins)
    whole |= {value.replace(" ", "_") for value in whole}
    unused = {
        name
        for name in ENGLISH.sentences
        if name not in whole and not any(name.startswith(begins) for begins in patterns)
    }
    assert unused == set()
