from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from handsfree.errors import ModelError
from handsfree.speech.model import SHIPPED, SpeechModel
from handsfree.speech.recogniser import VoskRecogniser


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A whole model folder to damage."""
    shutil.copytree(SHIPPED, tmp_path / "mine")
    return tmp_path / "mine"


NEEDED = [
    "am/final.mdl",
    "conf/mfcc.conf",
    "conf/model.conf",
    "graph/HCLG.fst",
    "graph/words.txt",
    "graph/phones/word_boundary.int",
]


@pytest.mark.parametrize("name", NEEDED)
def test_a_missing_or_empty_file_is_named(folder: Path, name: str) -> None:
    (folder / name).write_bytes(b"")
    with pytest.raises(ModelError) as empty:
        SpeechModel.load(folder)
    (folder / name).unlink()
    with pytest.raises(ModelError) as missing:
        SpeechModel.load(folder)
    assert f"{name}: this file of the speech model is empty" in str(empty.value)
    assert f"{name}: this file of the speech model is missing" in str(missing.value)
    assert missing.value.way_out


def test_a_copy_is_the_same_model_and_a_changed_byte_makes_another(folder: Path) -> None:
    shipped, copy = SpeechModel.load(), SpeechModel.load(folder)
    settings = folder / "conf" / "model.conf"
    settings.write_text(settings.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    assert (shipped.name, copy.name) == ("shipped", "mine")
    assert copy.sha256 == shipped.sha256 != SpeechModel.load(folder).sha256
    assert SpeechModel.load(folder).size == shipped.size + 1


def test_the_environment_chooses_the_folder(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HANDSFREE_MODEL", str(folder))
    assert SpeechModel.load().folder == folder
    assert SpeechModel.load(SHIPPED).folder == SHIPPED


def test_no_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="no such speech model folder"):
        SpeechModel.load(tmp_path / "none")


def test_a_model_for_another_sample_rate_is_refused(folder: Path) -> None:
    (folder / "conf" / "mfcc.conf").write_text("--sample-frequency=8000\n", encoding="utf-8")
    with pytest.raises(ModelError, match="must hear at 16000 Hz"):
        SpeechModel.load(folder)


def test_a_damaged_word_table_is_named_by_line(folder: Path) -> None:
    (folder / "graph" / "words.txt").write_text("<eps> 0\nleaf\n", encoding="utf-8")
    with pytest.raises(ModelError, match=r"words.txt, line 2: expected a word and its number"):
        SpeechModel.load(folder)


def test_words_that_the_graph_lacks_are_named() -> None:
    model = SpeechModel.load()
    model.require_words({"left", "leaf"})
    with pytest.raises(
        ModelError, match="does not know these words of the grammar: gate, turnstile"
    ):
        model.require_words({"turnstile", "leaf", "gate"})


def test_a_word_boundary_table_cut_between_two_lines_is_named(folder: Path) -> None:
    table = folder / "graph" / "phones" / "word_boundary.int"
    lines = table.read_text(encoding="utf-8").splitlines(keepends=True)
    table.write_text("".join(lines[:40]), encoding="utf-8")
    with pytest.raises(ModelError, match=r"word_boundary.int, line 41: expected a phone's number"):
        SpeechModel.load(folder)


@pytest.mark.parametrize(
    ("name", "size"), [("am/final.mdl", 100_000), ("graph/HCLG.fst", 300), ("conf/model.conf", 20)]
)
def test_a_truncated_file_is_one_line_and_nothing_more(
    folder: Path, name: str, size: int, capfd: pytest.CaptureFixture[str]
) -> None:
    (folder / name).write_bytes((folder / name).read_bytes()[:size])
    with pytest.raises(ModelError, match=r"Vosk cannot open this speech model: .+") as raised:
        VoskRecogniser(SpeechModel.load(folder))
    assert "\n" not in str(raised.value)
    assert capfd.readouterr().err == ""
