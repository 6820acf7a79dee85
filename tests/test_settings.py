from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.errors import SettingsError
from handsfree.settings import keep_setting, load_settings, settings_file


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "new folder" / "settings.toml"
    monkeypatch.setenv("HANDSFREE_SETTINGS", str(path))
    return path


def test_what_is_kept_is_loaded_and_what_is_taken_out_is_not(file: Path) -> None:
    assert load_settings().model is None
    assert keep_setting("model", 'a "strange" \\ name — ä') == file
    assert load_settings().model == Path('a "strange" \\ name — ä')
    keep_setting("model", None)
    assert load_settings().model is None
    assert [path.name for path in file.parent.iterdir()] == ["settings.toml"]


def test_lines_written_by_hand_stay(file: Path) -> None:
    file.parent.mkdir()
    file.write_text('# mine\nmodel = "one"\n# the end\n', encoding="utf-8")
    keep_setting("model", "two")
    assert file.read_text(encoding="utf-8") == 'model = "two"\n# mine\n# the end\n'


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('\nmodell = "x"\n', r"line 2: there is no setting 'modell' \(did you mean 'model'\?\)"),
        ("\n\nmodel = 3\n", "line 3: 'model' has a wrong value"),
        ("model = \n", "line 1: is no valid TOML"),
    ],
)
def test_a_fault_is_named_with_its_line(file: Path, text: str, fault: str) -> None:
    file.parent.mkdir()
    file.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match=fault) as raised:
        load_settings()
    assert str(raised.value).startswith(str(file))


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
