from __future__ import annotations

from pathlib import Path

import kaldifst
import pytest

from handsfree.recognition.speech_model import SHIPPED
from handsfree.recognition.symbol_table import output_symbols


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """An acceptor of 'left leaf' with tables of words on both sides, as OpenFst writes it."""
    fst = kaldifst.StdVectorFst()
    for _ in range(3):
        fst.add_state()
    fst.start = 0
    fst.set_final(2, 0)
    fst.add_arc(0, kaldifst.StdArc(1, 1, 0, 1))
    fst.add_arc(1, kaldifst.StdArc(2, 2, 0, 2))
    table = kaldifst.SymbolTable()
    for number, word in enumerate(["<eps>", "left", "leaf"]):
        table.add_symbol(word, number)
    fst.input_symbols = table
    fst.output_symbols = table
    fst.write(str(tmp_path / "Gr.fst"))
    return tmp_path / "Gr.fst"


def test_the_words_are_those_that_openfst_wrote(file: Path) -> None:
    assert output_symbols(file) == ("<eps>", "left", "leaf")


def test_a_file_cut_anywhere_before_its_arcs_is_no_table_of_words(file: Path) -> None:
    content = file.read_bytes()
    end = content.rindex(b"leaf") + len(b"leaf")
    for length in range(end):
        file.write_bytes(content[:length])
        with pytest.raises(ValueError, match=r"cut short|no transducer|damaged"):
            output_symbols(file)


def test_a_transducer_without_table_has_none() -> None:
    assert output_symbols(SHIPPED / "graph" / "HCLG.fst") == ()
