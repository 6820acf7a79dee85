"""Compiled templates are kept; a cache that is damaged or not the user's changes no page."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from jinja2 import DictLoader, Environment

from handsfree.reports.template_cache import TemplateCache

SOURCES = {"door.html": "{{ name }} opens"}


def rendered(folder: Path, monkeypatch: pytest.MonkeyPatch, **sources: str) -> tuple[str, bool]:
    """The page, and whether its template was compiled for it."""
    compiled: list[str] = []
    env = Environment(
        loader=DictLoader(sources or SOURCES), bytecode_cache=TemplateCache(folder), autoescape=True
    )
    inner = env.compile
    monkeypatch.setattr(env, "compile", lambda *args: (compiled.append("it"), inner(*args))[1])
    return env.get_template("door.html").render(name="Lobby"), bool(compiled)


def test_a_template_is_compiled_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "cache" / "templates"
    assert rendered(folder, monkeypatch) == ("Lobby opens", True)
    assert rendered(folder, monkeypatch) == ("Lobby opens", False)
    (file,) = folder.iterdir()
    assert folder.stat().st_mode & 0o077 == 0 or not hasattr(os, "getuid")
    assert file.stat().st_size > 100


def test_a_changed_template_is_compiled_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rendered(tmp_path / "c", monkeypatch)
    changed = {"door.html": "{{ name }} closes"}
    assert rendered(tmp_path / "c", monkeypatch, **changed) == ("Lobby closes", True)


@pytest.mark.parametrize("keep", [0, 10, 32, 200])
def test_a_damaged_file_is_not_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, keep: int
) -> None:
    folder = tmp_path / "c"
    rendered(folder, monkeypatch)
    (file,) = folder.iterdir()
    whole = file.read_bytes()
    file.write_bytes(whole[:keep] + bytes(len(whole) - keep))
    assert rendered(folder, monkeypatch) == ("Lobby opens", True)
    assert file.read_bytes() == whole


def test_a_folder_that_cannot_be_made_is_no_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("in the way")
    assert rendered(tmp_path / "file" / "c", monkeypatch) == ("Lobby opens", True)


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="only where files have owners and modes")
def test_code_in_a_folder_that_others_may_write_to_is_not_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "c"
    rendered(folder, monkeypatch)
    folder.chmod(0o777)
    assert rendered(folder, monkeypatch) == ("Lobby opens", True)
