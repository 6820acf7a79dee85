"""handsfree settings as a user runs it."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.settings import Settings


@pytest.fixture
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("HANDSFREE_SETTINGS", str(tmp_path / "settings.toml"))
    monkeypatch.delenv("HANDSFREE_SECOND_EAR", raising=False)
    return tmp_path / "settings.toml"


def run(*arguments: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, ["settings", *arguments])
    return result.exit_code, result.output


def row(out: str, key: str) -> list[str]:
    return next(line.split() for line in out.splitlines() if line.split()[:1] == [key])


def test_every_setting_is_shown_with_where_it_comes_from(file, monkeypatch):
    monkeypatch.setenv("HANDSFREE_SPEECH_RATE", "195")
    assert run("set", "tones", "false")[0] == 0
    code, out = run()
    assert code == 0
    for key in Settings.model_fields:
        assert row(out, key)[-1] == f"HANDSFREE_{key.upper()}"
    assert row(out, "speech_rate")[1:3] == ["195", "environment"]
    assert row(out, "tones")[1:3] == ["false", "file"]
    assert row(out, "speech_level")[1:3] == ["full", "default"]
    assert str(file) in out.replace("\n", "")


def test_what_is_set_is_unset_again(file):
    run("set", "speech_level", "brief")
    assert 'speech_level = "brief"' in file.read_text()
    assert run("unset", "speech_level")[0] == 0
    assert row(run()[1], "speech_level")[1:3] == ["full", "default"]


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (("set", "speech_rate", "fast"), "from 100 to 320"),
        (("set", "speech_rate", "20"), "from 100 to 320"),
        (("set", "speech_level", "loud"), "'full', 'brief' or 'silent'"),
        (("set", "speach_level", "brief"), "speech_level"),
    ],
)
def test_a_wrong_setting_is_named_and_nothing_is_written(file, arguments, named):
    code, out = run(*arguments)
    assert code == 2
    assert named in out
    assert not file.exists()


def test_a_wrong_variable_is_named(file, monkeypatch):
    monkeypatch.setenv("HANDSFREE_TONES", "perhaps")
    code, out = run()
    assert code == 2
    assert "HANDSFREE_TONES" in out and "true or false" in out
