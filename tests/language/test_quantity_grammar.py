"""The grammar of the quantities: its rules, faults in its rows, and empty rules."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from handsfree.data import data_folder
from handsfree.errors import GrammarError, HandsfreeError
from handsfree.job.quantity import QUANTITIES, Quantity, QuantityWords, line_of
from handsfree.language.interpreter import Language
from handsfree.language.jsgf_parser import parse_jsgf
from handsfree.language.linker import load_grammar
from handsfree.language.quantity_grammar import NAME, quantity_grammar
from handsfree.language.sentence_sampler import sample
from handsfree.language.syntax_tree import Reference, walk
from handsfree.language.wording import languages, wording


def with_words(monkeypatch, quantity: Quantity, **words: dict) -> None:
    given = {
        code: QuantityWords(**{"name": "x", "does": "x", **row}) for code, row in words.items()
    }
    row = QUANTITIES[quantity].model_copy(update={"words": given})
    monkeypatch.setitem(QUANTITIES, quantity, row)


def reachable(language: Language) -> set[str]:
    """The rules that an utterance can go through."""
    found: set[str] = set()
    left = [language.grammar.expansion("utterance")]
    while left:
        for node in walk(left.pop()):
            if isinstance(node, Reference) and node.rule not in found:
                found.add(node.rule)
                left.append(language.grammar.expansion(node.rule))
    return found


@pytest.mark.parametrize("code", languages())
@pytest.mark.parametrize("quantity", Quantity)
def test_a_sentence_takes_every_form_of_every_quantity(code: str, quantity: Quantity):
    """A row of a kind and family that readings.jsgf has no sentence for fails here."""
    facts = QUANTITIES[quantity]
    rule = f"{NAME}.{facts.of}_{facts.family}"
    rules = reachable(Language.load(language=code))
    assert rule in rules
    assert not facts.words[code].short or f"{rule}_short" in rules


@pytest.mark.parametrize("code", languages())
def test_a_form_with_a_number_is_a_reading_of_its_quantity(code: str):
    language, rng = Language.load(language=code), Random(4)
    number = {"en": "six", "es": "seis"}[code]
    for name in reachable(language):
        short = name.endswith("_short") and not name.startswith(f"{NAME}.leaf")
        if not name.startswith(f"{NAME}.") or short:
            continue
        for _ in range(20):
            said = " ".join(sample(language.grammar, name, rng))
            meaning = language.parse(f"{said} {number}")
            assert meaning is not None and meaning.kind == "reading", said
            facts = QUANTITIES[meaning.quantity]
            assert name.removesuffix("_short") == f"{NAME}.{facts.of}_{facts.family}"


def test_a_fault_in_a_form_is_named_with_its_line(monkeypatch):
    with_words(monkeypatch, Quantity.CLOSING_TIME, en={"say": ("closing [time",)})
    with pytest.raises(GrammarError, match="is not allowed here") as caught:
        quantity_grammar("en")
    assert caught.value.file.name == "quantities.toml"
    assert caught.value.line == line_of(Quantity.CLOSING_TIME, "en.say") > 1


def test_a_part_of_a_name_that_is_nowhere_is_named_with_its_line(monkeypatch):
    with_words(monkeypatch, Quantity.CLOSING_TIME, en={"say": ("closing <tiem>",)})
    with pytest.raises(GrammarError, match="<tiem> is not defined") as caught:
        Language.load(data_folder("grammars") / "en")
    assert caught.value.line == line_of(Quantity.CLOSING_TIME, "en.say")


def test_a_language_without_words_for_a_quantity_is_named_with_the_row(monkeypatch):
    with_words(monkeypatch, Quantity.CLOSING_TIME, en={"say": ("closing",)})
    for load in (quantity_grammar, wording.__wrapped__):
        with pytest.raises(HandsfreeError, match="'closing_time' has no words of") as c:
            load("es")
        assert c.value.line == line_of(Quantity.CLOSING_TIME)


def test_what_needs_a_rule_without_alternatives_cannot_be_said(tmp_path: Path):
    """As <VOID> of JSGF (W3C Note 2000, 4.4: memory): it and its sequence cannot be spoken."""
    text = (
        "#JSGF V1.0;\ngrammar top;\nimport <quantities.opening_angle>;\n"
        "public <utterance> = a <opening_angle> | b [<opening_angle>] | <alone>;\n"
        "<alone> = c <opening_angle>;\n"
    )
    (tmp_path / "top.jsgf").write_text(text, encoding="utf-8")
    names = parse_jsgf("#JSGF V1.0;\ngrammar names;", tmp_path / "names.jsgf")
    made = quantity_grammar("en")
    assert not {"brake", "latching"} & {rule.name for rule in names.rules}
    grammar = load_grammar(tmp_path, "top", made, names)
    assert "top.alone" not in grammar.rules and f"{NAME}.opening_angle" not in grammar.rules
    rng = Random(1)
    assert {sample(grammar, "utterance", rng) for _ in range(20)} == {("b",)}
