from __future__ import annotations

import json
import os
import shutil
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from handsfree.cli import main
from handsfree.data import data_folder
from handsfree.recognition.lexicon import read_lexicon
from handsfree.recognition.speech_model import SHIPPED
from handsfree.settings import load_settings

from ..dynamic_model import make_dynamic


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A model folder without a graph."""
    shutil.copytree(SHIPPED, tmp_path / "mine", ignore=shutil.ignore_patterns("graph"))
    return tmp_path / "mine"


@pytest.mark.slow
def test_build_gives_a_folder_the_shipped_graph(folder: Path) -> None:
    result = CliRunner().invoke(main, ["model", "build", "--model", str(folder)])
    assert result.exit_code == 0, result.output
    for name in ("HCLG.fst", "words.txt", "phones/word_boundary.int"):
        assert (folder / "graph" / name).read_bytes() == (SHIPPED / "graph" / name).read_bytes()


def grammar_with(word: str, tmp_path: Path) -> Path:
    """The shipped grammar and a word more."""
    grammar = tmp_path / "grammar"
    shutil.copytree(data_folder("grammars") / "en", grammar)
    words = grammar / "words.jsgf"
    text = words.read_text(encoding="utf-8")
    words.write_text(text.replace("never mind", f"never mind | {word}"), encoding="utf-8")
    return grammar


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["model", *map(str, arguments)])


@pytest.mark.slow
def test_a_word_without_pronunciation_is_named_and_nothing_is_written(
    folder: Path, tmp_path: Path
) -> None:
    before = (folder / "lexicon.txt").read_bytes()
    result = run("build", "--grammar", grammar_with("hingeling", tmp_path), "--model", folder)
    assert result.exit_code == 2
    assert f"{folder / 'lexicon.txt'}: no pronunciation for: hingeling" in result.stderr
    assert "add a line with the word and its ARPAbet phones" in result.stderr
    assert not (folder / "graph").exists()
    assert (folder / "lexicon.txt").read_bytes() == before


@pytest.mark.slow
def test_a_new_word_is_taken_from_the_dictionary_and_kept(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("pocketsphinx")
    grammar = grammar_with("abracadabra", tmp_path)
    result = run("build", "--grammar", grammar, "--model", folder)
    assert result.exit_code == 0, result.output
    assert "added abracadabra from the CMU Pronouncing Dictionary" in result.stdout
    words = (folder / "graph" / "words.txt").read_text(encoding="utf-8").split()
    assert "abracadabra" in words
    assert read_lexicon(folder / "lexicon.txt").missing(["abracadabra"]) == []
    # The folder now knows it by itself.
    graph = (folder / "graph" / "HCLG.fst").read_bytes()
    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    assert run("build", "--grammar", grammar, "--model", folder).exit_code == 0
    assert (folder / "graph" / "HCLG.fst").read_bytes() == graph


@pytest.mark.slow
def test_without_the_dictionary_its_package_is_named(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    result = run("build", "--grammar", grammar_with("abracadabra", tmp_path), "--model", folder)
    assert result.exit_code == 2
    assert "no pronunciation for: abracadabra" in result.stderr
    assert "pip install pocketsphinx" in result.stderr


def test_the_shipped_model_is_shown() -> None:
    result = run()
    assert result.exit_code == 0, result.output
    lines = dict(line.split(maxsplit=1) for line in result.stdout.splitlines() if line.split()[1:])
    assert lines["folder"] == str(SHIPPED)
    assert int(lines["words"]) > 200
    assert lines["license"] and lines["status"]
    shown = json.loads(run("--json").stdout)
    assert shown["chosen_by"] == "shipped"
    assert shown["kind"] == "static"
    assert 1_000_000 < shown["parameters"] < 10_000_000
    assert shown["facts"]["scores"][0].keys() == {"material", "noise", "right", "wrong", "count"}


@pytest.fixture
def settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HANDSFREE_SETTINGS", str(tmp_path / "settings.toml"))
    return tmp_path / "settings.toml"


@pytest.mark.slow
def test_a_full_model_is_used_and_shown_until_the_shipped_one_is_used_again(
    tmp_path: Path, settings: Path
) -> None:
    full = make_dynamic(tmp_path / "full")
    result = run("use", full)
    assert result.exit_code == 0, result.output
    assert str(settings) in result.stdout
    shown = json.loads(run("--json").stdout)
    assert (shown["folder"], shown["chosen_by"]) == (str(full), "settings")
    assert (shown["kind"], shown["facts"]) == ("dynamic", None)
    assert "no model.toml" in run().stdout
    assert run("build").exit_code == 2  # there is nothing to build in it
    assert run("use", "shipped").exit_code == 0
    assert json.loads(run("--json").stdout)["chosen_by"] == "shipped"


@pytest.mark.slow
def test_a_model_that_cannot_be_used_changes_no_choice(
    folder: Path, tmp_path: Path, settings: Path
) -> None:
    assert run("build", "--model", folder).exit_code == 0
    assert run("use", folder).exit_code == 0
    lacking = make_dynamic(tmp_path / "lacking", without=("latching", "closing"))
    damaged = make_dynamic(tmp_path / "damaged")
    (damaged / "graph" / "HCLr.fst").write_bytes(b"cut")
    fixed = tmp_path / "fixed"
    shutil.copytree(SHIPPED, fixed, ignore=shutil.ignore_patterns("lexicon.txt"))
    faults = {
        lacking: "does not know these words of the grammar: closing, latching",
        damaged: "Vosk cannot open this speech model",
        fixed: "the graph of this model is fixed and cannot take the grammar",
        tmp_path / "none": "no such speech model folder",
    }
    for bad, fault in faults.items():
        result = run("use", bad)
        assert result.exit_code == 2
        assert fault in result.stderr and str(bad) in result.stderr
        assert result.stderr.count("\n") == 1
        assert load_settings().model == folder


def test_a_variable_that_goes_before_the_settings_is_said(
    folder: Path, settings: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HANDSFREE_MODEL", str(SHIPPED))
    result = run("use", "shipped")
    assert "HANDSFREE_MODEL is set, and overrides the settings" in result.stderr


@pytest.mark.slow
def test_what_is_built_for_everybody_keeps_the_users_own_permissions(folder: Path) -> None:
    before = os.umask(0o022)
    try:
        assert run("build", "--model", folder).exit_code == 0
    finally:
        os.umask(before)
    assert (folder / "graph" / "HCLG.fst").stat().st_mode & 0o777 == 0o644
    assert (folder / "graph").stat().st_mode & 0o777 == 0o755
