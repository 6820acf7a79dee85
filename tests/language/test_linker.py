from pathlib import Path

import pytest

from handsfree.errors import GrammarError
from handsfree.language.linker import load_grammar
from handsfree.language.matcher import Matcher

NAMES = "public <leaf> = left leaf;\n<secret> = hidden;"


def test_a_rule_finds_its_own_file_first_and_imports_by_short_and_full_name(grammar_of):
    grammar = grammar_of(
        "import <names.*>;\npublic <top> = <leaf> | full <names.leaf>;\n<leaf> = my leaf;",
        names=NAMES,
    )
    match = Matcher(grammar)
    assert match.parses(("my", "leaf"), "top")
    assert match.parses(("full", "left", "leaf"), "top")
    assert not match.parses(("left", "leaf"), "top")


@pytest.mark.parametrize(
    ("rules", "line", "says"),
    [
        ("<top> = left\n  <leaf>;", 4, "<leaf> is not defined"),
        ("import <names.secret>;\n<top> = <secret>;", 3, "no public rule"),
        ("import <names.*>;\n<top> = <secret>;", 4, "<secret> is not defined"),
        ("\nimport <elsewhere.leaf>;\n<top> = <leaf>;", 4, "no elsewhere.jsgf"),
        ("<top> = <top> left;", 3, "<top> refers to itself"),
        ("<top> = [the] <side>;\n<side> = left | <top> right;", 4, "<top> refers to itself"),
        ("<top> = left <side>;\n<side> = left [<side>];", 4, "<side> refers to itself"),
    ],
)
def test_what_leads_nowhere_or_has_no_end_is_named_with_line(grammar_of, rules, line, says):
    with pytest.raises(GrammarError) as caught:
        grammar_of(rules, names=NAMES)
    assert (caught.value.file.name, caught.value.line) == ("small.jsgf", line)
    assert says in caught.value.message


def test_a_missing_misnamed_or_unreadable_file_is_named(tmp_path: Path):
    with pytest.raises(GrammarError, match="no such grammar file"):
        load_grammar(tmp_path, "small")
    (tmp_path / "small.jsgf").write_text("#JSGF V1.0;\ngrammar big;\n<top> = left;")
    with pytest.raises(GrammarError, match="calls itself 'big'"):
        load_grammar(tmp_path, "small")
    (tmp_path / "small.jsgf").write_bytes(b"#JSGF V1.0;\ngrammar small;\n<top> = l\xe9ft;")
    with pytest.raises(GrammarError, match="UTF-8"):
        load_grammar(tmp_path, "small")
