"""Finds the data files that ship with handsfree."""

from __future__ import annotations

from pathlib import Path

from handsfree.errors import HandsfreeError

_PACKAGE = Path(__file__).resolve().parent


def data_folder(name: str) -> Path:
    """The shipped folder of that name: 'grammars' or 'audio_fixtures'.

    In a checkout it is the folder next to the package, otherwise the copy inside the installed
    package. Raises HandsfreeError if there is neither.
    """
    checkout = _PACKAGE.parent
    candidates = [_PACKAGE / "_data" / name]
    if (checkout / "pyproject.toml").is_file():
        candidates.insert(0, checkout / name)
    for folder in candidates:
        if folder.is_dir():
            return folder
    raise HandsfreeError(
        f"the folder '{name}' that ships with handsfree is missing",
        file=candidates[-1],
        way_out="install handsfree again",
    )
