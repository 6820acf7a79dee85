from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from handsfree.errors import SettingsError
from handsfree.settings import Settings, keep_setting, load_settings, settings_file

DOC = (Path(__file__).parents[1] / "docs" / "settings.md").read_text(encoding="utf-8")


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "new folder" / "settings.toml"
    monkeypatch.setenv("HANDSFREE_SETTINGS", str(path))
    monkeypatch.delenv("HANDSFREE_SECOND_EAR", raising=False)
    return path


def test_what_is_kept_is_loaded_and_what_is_taken_out_is_not(file: Path) -> None:
    assert load_settings().model is None
    assert keep_setting("model", 'a "strange" \\ name — ä') == file
    assert load_settings().model == Path('a "strange" \\ name — ä')
    keep_setting("model", None)
    assert load_settings().model is None
    assert [path.name for path in file.parent.iterdir()] == ["settings.toml"]


@pytest.mark.parametrize(
    ("key", "value", "line"),
    [
        ("tones", False, "tones = false"),
        ("speech_rate", 145, "speech_rate = 145"),
        ("speech_volume", 0, "speech_volume = 0"),
        ("speech_level", "silent", 'speech_level = "silent"'),
    ],
)
def test_words_numbers_and_switches_are_kept(
    file: Path, key: str, value: str | bool | int, line: str
) -> None:
    assert getattr(load_settings(), key) != value
    keep_setting(key, value)
    assert file.read_text(encoding="utf-8") == line + "\n"
    assert getattr(load_settings(), key) == value


@pytest.mark.parametrize(
    ("key", "value"), [("speech_rate", 90), ("speech_rate", True), ("tones", 1), ("model", 3)]
)
def test_what_could_not_be_loaded_again_is_not_kept(
    file: Path, key: str, value: bool | int
) -> None:
    with pytest.raises(SettingsError, match=f"^'{key}' has a wrong value: it takes"):
        keep_setting(key, value)
    assert not file.exists()


def test_lines_written_by_hand_stay(file: Path) -> None:
    file.parent.mkdir()
    file.write_text('# mine\nmodel = "one"\n# the end\n', encoding="utf-8")
    keep_setting("model", "two")
    assert file.read_text(encoding="utf-8") == 'model = "two"\n# mine\n# the end\n'


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('\nmodell = "x"\n', r"line 2: there is no setting 'modell' \(did you mean 'model'\?\)"),
        (
            "\n\nmodel = 3\n",
            "line 3: 'model' has a wrong value: it takes the whole path of a folder "
            r"\(write model = \"/home/me/models/mine\"\)",
        ),
        (
            'speech_level = "loud"\n',
            "line 1: 'speech_level' has a wrong value: it takes 'full', 'brief' or 'silent' "
            r"\(write speech_level = \"brief\"\)",
        ),
        (
            "tones = 1\n",
            r"line 1: 'tones' .+ takes true or false \(write tones = false\)",
        ),
        (
            "tones = true\nspeech_rate = 99\n",
            "line 2: 'speech_rate' has a wrong value: it takes a whole number from 100 to 320 "
            r"\(write speech_rate = 145\)",
        ),
        ("speech_rate = 150.5\n", "line 1: 'speech_rate' has a wrong value"),
        ('speech_rate = "150"\n', "line 1: 'speech_rate' has a wrong value"),
        ("speech_volume = 101\n", "line 1: .+ it takes a whole number from 0 to 100"),
        ("model = 'x'\n[tones]\nheard = true\n", "line 2: 'tones' has a wrong value"),
        ("model = \n", "line 1: is not valid TOML"),
    ],
)
def test_a_fault_is_named_with_its_line(file: Path, text: str, fault: str) -> None:
    file.parent.mkdir()
    file.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match=fault) as raised:
        load_settings()
    assert str(raised.value).startswith(str(file))


def test_a_table_in_the_place_of_a_setting_is_not_torn_apart(file: Path) -> None:
    file.parent.mkdir()
    file.write_text("model = 'x'\n[tones]\nheard = true\n", encoding="utf-8")
    with pytest.raises(SettingsError, match="line 2: 'tones' has a wrong value"):
        keep_setting("tones", True)
    assert file.read_text(encoding="utf-8") == "model = 'x'\n[tones]\nheard = true\n"


def test_settings_that_cannot_be_written_are_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("HANDSFREE_SETTINGS", str(tmp_path / "file" / "settings.toml"))
    with pytest.raises(SettingsError, match="settings cannot be"):
        keep_setting("model", "x")


def test_without_the_variable_they_lie_in_the_users_own_configuration(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("HANDSFREE_SETTINGS")
    assert settings_file().parts[-2:] == ("handsfree", "settings.toml")


def test_the_guide_names_every_setting_with_what_it_takes_and_its_default() -> None:
    rows = re.findall(r"^\| `(\w+)` \| (.+?) \| (.+?) \| .+ \|$", DOC, re.MULTILINE)
    assert rows == [
        (key, field.description, "none" if field.default is None else json.dumps(field.default))
        for key, field in Settings.model_fields.items()
    ]


def test_the_example_of_the_guide_is_loaded(file: Path) -> None:
    example = re.search(r"```toml\n(.+?)```", DOC, re.DOTALL)
    assert example is not None
    file.parent.mkdir()
    file.write_text(example[1], encoding="utf-8")
    assert load_settings() == Settings(speech_level="brief", speech_rate=195, tones=False)
