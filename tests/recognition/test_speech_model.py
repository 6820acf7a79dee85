from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from handsfree.errors import ModelError
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SHIPPED, Choice, SpeechModel, choose
from handsfree.settings import keep_setting


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


def test_no_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="no such speech model folder"):
        SpeechModel.load(tmp_path / "none")


def test_a_model_for_another_sample_rate_is_refused(folder: Path) -> None:
    (folder / "conf" / "mfcc.conf").write_text("--sample-frequency=8000\n", encoding="utf-8")
    with pytest.raises(ModelError, match="handsfree needs 16000 Hz"):
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


@pytest.mark.parametrize(("name", "size"), [("am/final.mdl", 100_000), ("graph/HCLG.fst", 300)])
def test_a_truncated_file_is_one_line_and_nothing_more(
    folder: Path, name: str, size: int, capfd: pytest.CaptureFixture[str]
) -> None:
    (folder / name).write_bytes((folder / name).read_bytes()[:size])
    with pytest.raises(ModelError, match=r"Vosk cannot open this speech model: .+") as raised:
        VoskRecognizer(SpeechModel.load(folder))
    assert "\n" not in str(raised.value)
    assert capfd.readouterr().err == ""


@pytest.mark.slow
@pytest.mark.parametrize("name", [name for name in NEEDED if not name.endswith((".mdl", ".fst"))])
def test_a_text_that_ends_inside_a_line_is_named(folder: Path, name: str) -> None:
    content = (folder / name).read_bytes()
    for length in range(1, len(content)):
        if content[length - 1 : length] != b"\n":
            (folder / name).write_bytes(content[:length])
            with pytest.raises(ModelError) as raised:
                SpeechModel.load(folder)
            assert f"mine/{name}" in str(raised.value)


def test_options_cut_between_two_lines_are_found_before_vosk_ends_the_process(
    folder: Path,
) -> None:
    settings = folder / "conf" / "model.conf"
    lines = settings.read_text(encoding="utf-8").splitlines(keepends=True)
    settings.write_text("".join(lines[:3]), encoding="utf-8")
    with pytest.raises(ModelError, match=r"model.conf: the option --endpoint.silence-phones is"):
        SpeechModel.load(folder)


def test_a_rate_that_is_not_stated_is_kaldis_own(folder: Path) -> None:
    settings = folder / "conf" / "mfcc.conf"
    text = settings.read_text(encoding="utf-8")
    settings.write_text(text.replace("--sample-frequency=16000\n", "# none\n"), encoding="utf-8")
    assert SpeechModel.load(folder).folder == folder


def test_a_graph_that_is_fixed_is_refused_with_the_reason(folder: Path) -> None:
    (folder / "lexicon.txt").unlink()
    with pytest.raises(ModelError, match=r"HCLG.fst: the graph of this model is fixed"):
        SpeechModel.load(folder)
    (folder / "graph" / "HCLr.fst").write_bytes(b"x")
    with pytest.raises(ModelError, match=r"is fixed .* \(remove HCLG.fst, so that Vosk uses HCLr"):
        SpeechModel.load(folder)


def test_an_option_goes_before_the_environment_and_that_before_the_settings(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept, named = tmp_path / "kept", tmp_path / "named"
    kept.mkdir()
    named.mkdir()
    assert choose() == Choice(SHIPPED, "shipped")
    monkeypatch.setenv("HANDSFREE_SETTINGS", str(tmp_path / "settings.toml"))
    keep_setting("model", str(kept))
    assert choose() == Choice(kept, "settings")
    monkeypatch.setenv("HANDSFREE_MODEL", str(named))
    assert choose() == Choice(named, "environment")
    assert choose(folder) == Choice(folder, "option")
    named.rmdir()
    with pytest.raises(ModelError, match="no such speech model folder, named by HANDSFREE_MODEL"):
        choose()
