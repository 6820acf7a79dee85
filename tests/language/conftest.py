from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.language.interpreter import Language
from handsfree.language.linker import load_grammar


@pytest.fixture(scope="session")
def language() -> Language:
    return Language.load()


@pytest.fixture
def grammar_of(tmp_path: Path):
    """A grammar 'small' of one file; the header is added."""

    def make(rules: str, **others: str):
        for name, text in {"small": rules, **others}.items():
            header = f"#JSGF V1.0;\ngrammar {name};\n"
            (tmp_path / f"{name}.jsgf").write_text(header + text, encoding="utf-8")
        return load_grammar(tmp_path, "small")

    return make
