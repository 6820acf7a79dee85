from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.data import data_folder
from handsfree.speech.model import SHIPPED


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A model folder without a graph."""
    shutil.copytree(SHIPPED, tmp_path / "mine", ignore=shutil.ignore_patterns("graph"))
    return tmp_path / "mine"


def test_build_gives_a_folder_the_shipped_graph(folder: Path) -> None:
    result = CliRunner().invoke(main, ["model", "build", "--model", str(folder)])
    assert result.exit_code == 0, result.output
    for name in ("HCLG.fst", "words.txt", "phones/word_boundary.int"):
        assert (folder / "graph" / name).read_bytes() == (SHIPPED / "graph" / name).read_bytes()


def test_a_word_without_pronunciation_is_named_and_nothing_is_written(
    folder: Path, tmp_path: Path
) -> None:
    grammar = tmp_path / "grammar"
    shutil.copytree(data_folder("grammars") / "en", grammar)
    words = grammar / "words.jsgf"
    words.write_text(
        words.read_text(encoding="utf-8").replace("never mind", "never mind | abracadabra"),
        encoding="utf-8",
    )
    result = CliRunner().invoke(
        main, ["model", "build", "--grammar", str(grammar), "--model", str(folder)]
    )
    assert result.exit_code == 2
    assert "no pronunciation for: abracadabra" in result.stderr
    assert "lexicon.txt" in result.stderr
    assert not (folder / "graph").exists()
