"""Every language covers all of English, and understands its own readbacks."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from decimal import ROUND_DOWN, Decimal
from functools import cache
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

import handsfree
from handsfree.checks.calibration import Calibration
from handsfree.checks.measurement_uncertainty import Bound
from handsfree.checks.scope import out_of_scope
from handsfree.cli import job_interview
from handsfree.cli.live_view import HEADS
from handsfree.cli.sound_check import DEVICE_HEADS, PHRASE_HEADS, USED
from handsfree.diagnosis.search import Outcome
from handsfree.dialogue.open_items import OpenItem
from handsfree.dialogue.questions.hand_over import HandOverQuestion
from handsfree.dialogue.questions.open_item import OpenItemQuestion
from handsfree.errors import LogFault
from handsfree.job.closed_lists import SpeechLevel
from handsfree.job.handing import Contradiction
from handsfree.job.opening import Activation, Operator, Swing, WeightSource
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit, family_of
from handsfree.journal.events import FaultKind
from handsfree.language.interpreter import Language
from handsfree.language.meaning import ReadingSaid
from handsfree.language.wording import Wording, languages, placeholders, wording
from handsfree.timing.cycle import SPANS, WORDS, Problem
from handsfree.visit.sound_check_advice import AdviceKind

from .dialogue.technician import opening
from .language.test_wording import SUBJECTS, VALUES, WHOLE_ONLY

ENGLISH, SPANISH = wording("en"), wording("es")
OTHERS = [wording(language) for language in languages() if language != "en"]

# What is typed, what sounds alike and what else can be said is each language's own. English has
# one decimal mark.
OWN_KEYS = {"symbol", "short", "alike", "another", "misheard", "spelled_after", "letter"}
OWN_KEYS |= {"counted", "feminine"}  # only Spanish inflects its numbers
MORE_KEYS = {"digit": {","}, "cardinal": {"100+"}}


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


def test_a_rule_that_is_named_after_a_quantity_is_called_like_it():
    for quantity, facts in QUANTITIES.items():
        assert SPANISH.names["rule"][facts.spoken] == SPANISH.quantity(quantity)


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
SAME_SENTENCE = {"fact", "group_of", "settled", "guide_value_means", "guide_code_means", "item_ok"}
SAME_NAME = {
    *("newton", "newtons", "joule", "joules", "mineral", "motor", "cable", "sensor", "no", ""),
}


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


@pytest.mark.slow
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
    "wait_observation": ("sí", "no"),
    "wait_pass_or_fail": ("cumple", "falla"),
    "wait_done": ("listo",),
    "or_skip": ("omita",),
    "wait_word": ("se hará después", "no aplica", "rechazado por el dueño"),
    "wait_word_wrong": ("se hará después", "rechazado por el dueño"),
    "skip_reason": ("ignore",),
    "standing_by": ("continúe",),
    "stopped": ("continúe",),
    "measure_again": ("siguiente",),
    "or_leave": ("siguiente",),
    "typed_often": ("ayuda",),
    "withdraw": ("sí", "no"),
    "hands_hold": ("pulso corto",),
    "leaves_hold": ("ignore",),
    "hands_words": ("motor uno mano derecha", "pulso corto", "ignore"),
    "jog_way": ("al abrir", "al cerrar"),
    "jog_caution": ("despejado",),
    "door_more": ("no sé",),
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


@pytest.mark.slow
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


def sources() -> dict[str, str]:
    """The text of every module, by its path in the package."""
    package = Path(handsfree.__file__).parent
    return {str(file.relative_to(package)): file.read_text(encoding="utf-8") for file in SOURCES}


class Names:
    """The possible values of a module's expressions that name sentences, as far as they can be
    traced.
    """

    def __init__(self, source: str) -> None:
        self.tree = ast.parse(source)
        self.functions = [n for n in ast.walk(self.tree) if isinstance(n, ast.FunctionDef)]
        self.calls = [n for n in ast.walk(self.tree) if isinstance(n, ast.Call)]

    def spoken(self) -> set[str]:
        """The first argument of every ``.say(...)`` and ``.tell(...)``."""
        found: set[str] = set()
        for scope in (self.tree, *self.functions):
            for call in ast.walk(scope):
                if isinstance(call, ast.Call) and call.args and _speaks(call.func):
                    found |= self.of(call.args[0], scope, frozenset())
        return found

    def of(self, node: ast.expr, scope: ast.AST, seen: frozenset[str]) -> set[str]:
        match node:
            case ast.Constant(value=str(value)):
                return {value}
            case ast.IfExp(body=body, orelse=orelse):
                return self.of(body, scope, seen) | self.of(orelse, scope, seen)
            case ast.JoinedStr(values=parts):
                return self._joined(parts, scope, seen)
            case ast.FormattedValue(value=value):
                return self.of(value, scope, seen)
            case ast.Subscript(value=ast.Name(id=table)):
                return {text for each in self._assigned(table, self.tree) for text in _values(each)}
            case ast.Name(id=name) if name not in seen:
                given = [*self._assigned(name, scope), *self._passed(name, scope)]
                return {text for each in given for text in self.of(each, scope, seen | {name})}
            case _:
                return set()

    def _joined(self, parts: list[ast.expr], scope: ast.AST, seen: frozenset[str]) -> set[str]:
        texts = {""}
        for part in parts:
            texts = {text + more for text in texts for more in self.of(part, scope, seen)}
        return texts

    def _assigned(self, name: str, scope: ast.AST) -> Iterator[ast.expr]:
        for node in ast.walk(scope):
            match node:
                case ast.Assign(targets=[ast.Name(id=to)], value=value) if to == name:
                    yield value
                case ast.AnnAssign(target=ast.Name(id=to), value=ast.expr() as value) if to == name:
                    yield value

    def _passed(self, name: str, scope: ast.AST) -> Iterator[ast.expr]:
        """What the module passes for a parameter of the function."""
        if not isinstance(scope, ast.FunctionDef):
            return
        names = [each.arg for each in scope.args.args]
        if name not in names:
            return
        for call in self.calls:
            match call.func:
                case ast.Name(id=scope.name):
                    nth = names.index(name)
                case ast.Attribute(value=ast.Name(id="self"), attr=scope.name):
                    nth = names.index(name) - 1
                case _:
                    continue
            yield from call.args[nth : nth + 1]


def _speaks(called: ast.expr) -> bool:
    return isinstance(called, ast.Attribute) and called.attr in ("say", "tell")


def _values(table: ast.expr) -> set[str]:
    return literals(ast.Tuple(table.values)) if isinstance(table, ast.Dict) else set()


def kinds(record: type[Record], field: str) -> tuple[str, ...]:
    return get_args(record.model_fields[field].annotation)


DOOR = opening(Swing.SINGLE, everything=False)
# Names that the code takes from a closed list, or that another module chooses.
FROM_LISTS = {
    *job_interview.QUESTIONS.values(),
    *job_interview.SWINGS.values(),
    *(bound.replace(" ", "_") for bound in get_args(Bound)),
    *(f"clock_{kind}".replace(" ", "_") for kind in kinds(Problem, "kind")),
    *(f"fault_{kind}" for kind in get_args(FaultKind)),
    *(f"log_{fault}" for fault in get_args(LogFault)),
    *(
        f"calibration_{state}"
        for state in (*get_args(Calibration), "unknown")
        if state != "current"
    ),
    *(f"visit_fact_say_{takes}" for takes in ("code", "date", "choice")),
    *(f"sound_{kind}" for kind in get_args(AdviceKind)),
    *(f"sound_head_{head}" for head in (*DEVICE_HEADS, *PHRASE_HEADS)),
    *(f"sound_used_{device}" for device in USED),
    *(f"panel_{head}" for head in HEADS),
    *(f"level_{level}" for level in get_args(SpeechLevel)),
    *(f"move_{quantity}" for quantity in SPANS),
    *(f"open_{kind}" for kind in kinds(OpenItem, "kind")),
    *(f"weight_from_{source}" for source in (*WeightSource, "unknown")),
    *Contradiction,
    *OpenItemQuestion.expected.words,
    *HandOverQuestion.expected.words - {"put_right", "measure_again"},  # which lead to a proof
    *(f"search_{outcome}" for outcome in get_args(Outcome)),
    *(
        out_of_scope(DOOR.model_copy(update={"operator": operator, "activation": activation}))
        for operator in Operator
        for activation in Activation
    ),
}


@cache
def spoken_in(source: str) -> frozenset[str]:
    names = Names(source)
    materials = (call for call in names.calls if isinstance(call.func, ast.Name))
    return frozenset(names.spoken()).union(
        *(
            literals(keyword.value)
            for call in materials
            for keyword in call.keywords
            if call.func.id == "Material" and keyword.arg == "name"
        )
    )


def unspoken(names: Iterable[str], modules: dict[str, str]) -> set[str]:
    """Lists the sentences that no code speaks. The rehearsal does not count: it only recognizes
    them.
    """
    speaking = (text for path, text in modules.items() if not path.startswith("rehearsal"))
    return set(names) - FROM_LISTS - frozenset().union(*map(spoken_in, speaking))


@pytest.mark.slow
def test_every_sentence_is_spoken():
    assert unspoken(ENGLISH.sentences, sources()) == set()


# Names that occur in the code, or begin like others, and are no sentence.
@pytest.mark.slow
@pytest.mark.parametrize("name", ["attic", "reading", "phrase", "clock_attic", "open_shut"])
def test_a_sentence_that_no_code_speaks_is_noticed(name: str):
    assert unspoken([*ENGLISH.sentences, name], sources()) == {name}


# One call of the code that is taken out: it was the only one to speak its sentence.
@pytest.mark.parametrize(
    ("path", "call", "name"),
    [
        ("dialogue/questions/withdrawal.py", 'turn.tell("kept", "status")', "kept"),
        ("dialogue/questions/clock_run.py", '"clock_check_eighty" if', "clock_check_eighty"),
        ("dialogue/loop_detection.py", 'turn.tell("circling", ', "circling"),
        ("dialogue/sentences.py", 'Verdict.TOO_CLOSE: "verdict_too_close"', "verdict_too_close"),
        ("visit/session.py", '"journal_gone" if', "journal_gone"),
    ],
)
def test_a_sentence_that_the_code_stops_speaking_is_noticed(path: str, call: str, name: str):
    modules = sources()
    assert modules[path].count(call) == 1
    modules[path] = modules[path].replace(call, call.replace(name, "say_again"))
    assert unspoken(ENGLISH.sentences, modules) == {name}
