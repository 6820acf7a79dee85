"""The speech model folder: selection and integrity checks.

A folder holds the acoustic model (``am``), its settings (``conf``) and a graph (``graph``). A
static graph is compiled from the grammar with the pronunciations of ``lexicon.txt`` (``handsfree
model build``); a dynamic graph is combined with the grammar by Vosk at startup. The package ships a
folder with a static graph for each supported language.
"""

from __future__ import annotations

import hashlib
import logging
import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from handsfree.errors import ModelError
from handsfree.language.wording import ENGLISH
from handsfree.recognition.heard_words import UNKNOWN
from handsfree.recognition.model_card import read_model_card
from handsfree.recognition.model_files import (
    ACOUSTIC_FILES,
    DYNAMIC_FILES,
    REBUILD,
    STATIC_FILES,
    USE_ANOTHER,
    check_acoustics,
    check_boundaries,
    check_disambiguation,
    check_last_lines,
    read_words,
    require,
)
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.settings import load_settings, settings_file

__all__ = [
    "FOLDER_VARIABLE",
    "SAMPLE_RATE_HZ",
    "SHIPPED",
    "SHIPPED_NAME",
    "UNKNOWN",
    "Choice",
    "ChosenBy",
    "SpeechModel",
    "check_acoustics",
    "choose",
    "model_folder",
    "shipped_languages",
]

_LOG = logging.getLogger(__name__)
_SHIPPED_IN = {
    ENGLISH: Path(__file__).parent / "model",
    "es": Path(__file__).parent / "model-es",
}
SHIPPED = _SHIPPED_IN[ENGLISH]
SHIPPED_NAME = "shipped"
FOLDER_VARIABLE = "HANDSFREE_MODEL"

Kind = Literal["static", "dynamic"]
ChosenBy = Literal["option", "environment", "settings", "shipped"]


@dataclass(frozen=True)
class SpeechModel:
    """A checked model folder.

    ``size`` is the total of its files in bytes, ``sha256`` the hash over their names and contents:
    models with equal hashes recognize the same. ``words`` holds all words of its graph, including
    symbols such as '[unk]'.
    """

    folder: Path
    name: str
    kind: Kind
    size: int
    sha256: str
    words: frozenset[str]

    @classmethod
    def load(cls, folder: Path | str | None = None, language: str = ENGLISH) -> SpeechModel:
        """Checks a folder: the given one, or the one that ``choose`` finds for the language.

        Raises ModelError naming the first file that is missing, empty or wrong, or why the model
        cannot take the grammar.
        """
        chosen = model_folder(folder, language)
        check_acoustics(chosen)
        kind = _kind(chosen)
        way_out = REBUILD.format(chosen) if kind == "static" else USE_ANOTHER
        for name in STATIC_FILES if kind == "static" else DYNAMIC_FILES:
            require(chosen / name, way_out)
        check_boundaries(chosen, way_out)
        if kind == "dynamic":
            check_disambiguation(chosen)
        else:
            check_last_lines(chosen)
        words = read_words(chosen, way_out)
        name = SHIPPED_NAME if chosen in _SHIPPED_IN.values() else chosen.name
        model = cls(chosen, name, kind, *_measure(chosen, kind), words)
        _LOG.info("speech model %s, sha256 %s", model.name, model.sha256[:12])
        return model

    def require_words(self, words: Iterable[str]) -> None:
        """Raises ModelError naming the words that the graph lacks."""
        needed = set(words) | ({UNKNOWN} if self.kind == "dynamic" else set())
        if missing := sorted(needed - self.words):
            raise ModelError(
                f"the model does not know these words of the grammar: {', '.join(missing)}",
                file=self.folder,
                way_out=REBUILD.format(self.folder)
                if self.kind == "static"
                else "choose a model with these words, or a grammar without them",
            )


@dataclass(frozen=True)
class Choice:
    """A model folder and the origin of the choice."""

    folder: Path
    by: ChosenBy


def choose(folder: Path | str | None = None, language: str = ENGLISH) -> Choice:
    """Chooses the given folder, else that of HANDSFREE_MODEL, the settings, or the shipped one.

    The folder of the settings serves the language named in its model.toml, English by default.
    Raises ModelError if the folder does not exist or no model supports the language; SettingsError.
    """
    if folder is not None:
        choice = Choice(Path(folder), "option")
    elif named := os.environ.get(FOLDER_VARIABLE):
        choice = Choice(Path(named), "environment")
    elif (kept := load_settings().model) and _language_of(kept) == language:
        choice = Choice(kept, "settings")
    elif language in _SHIPPED_IN:
        choice = Choice(_SHIPPED_IN[language], "shipped")
    else:
        raise ModelError(
            f"handsfree ships no speech model for '{language}'",
            way_out="type the answers with --typed, or name a model: handsfree model use FOLDER",
        )
    if not choice.folder.is_dir():
        named_by = {"environment": FOLDER_VARIABLE, "settings": str(settings_file())}
        by = f", named by {named_by[choice.by]}" if choice.by in named_by else ""
        raise ModelError(
            f"no such speech model folder{by}", file=choice.folder, way_out=USE_ANOTHER
        )
    return Choice(choice.folder.resolve(), choice.by)


def model_folder(folder: Path | str | None = None, language: str = ENGLISH) -> Path:
    """Returns the folder that ``choose`` finds."""
    return choose(folder, language).folder


def shipped_languages() -> tuple[str, ...]:
    """Languages whose speech model ships with the package."""
    return tuple(_SHIPPED_IN)


def _language_of(folder: Path) -> str:
    """Language that a model folder states; English by default."""
    facts = read_model_card(folder) if folder.is_dir() else None
    return ENGLISH if facts is None else facts.language


def _kind(folder: Path) -> Kind:
    graph = folder / "graph"
    dynamic = (graph / "HCLr.fst").is_file()
    if not (graph / "HCLG.fst").is_file():
        return "dynamic" if dynamic else "static"
    if (folder / "lexicon.txt").is_file():
        return "static"
    # Vosk takes HCLG.fst whenever it exists.
    raise ModelError(
        "the graph of this model is fixed and cannot take the grammar",
        file=graph / "HCLG.fst",
        way_out="remove HCLG.fst, so that Vosk uses HCLr.fst and Gr.fst"
        if dynamic
        else "choose a model with graph/HCLr.fst and graph/Gr.fst",
    )


def _measure(folder: Path, kind: Kind) -> tuple[int, str]:
    """Size and hash of the files that Vosk reads."""
    names = {*ACOUSTIC_FILES, *STATIC_FILES}
    if kind == "dynamic":
        parts = ("am", "conf", "graph", "ivector", "rescore")
        files = (path for part in parts for path in (folder / part).rglob("*") if path.is_file())
        names = {path.relative_to(folder).as_posix() for path in files}
    digest = hashlib.sha256()
    total = 0
    for name in sorted(names):
        size = (folder / name).stat().st_size
        digest.update(f"{name} {size}\n".encode())
        with (folder / name).open("rb") as file:
            digest.update(hashlib.file_digest(file, "sha256").digest())
        total += size
    return total, digest.hexdigest()
