"""Titles for the limits, procedure, controller and ears named in a journal."""

from __future__ import annotations

from pathlib import PurePath, PureWindowsPath

from handsfree.checks.limits import load_limits, shipped_limits
from handsfree.controllers.guide_loader import load_guide, shipped_guides
from handsfree.language.wording import ENGLISH
from handsfree.procedure.loader import shipped_procedures, shipped_title


def limits_title(name: str) -> str:
    """The title of a shipped limit set; for any other its name."""
    return load_limits(name).title if name in shipped_limits() else _stem(name)


def procedure_title(name: str, language: str = ENGLISH) -> str:
    """The title of a shipped procedure; for any other its name in words."""
    if name not in shipped_procedures(language):
        return _stem(name).replace("-", " ")
    return shipped_title(name, language)


def controller_title(name: str, language: str = ENGLISH) -> str:
    """The title of a shipped guide; for a company's own the name of its file, without the
    folder.
    """
    return load_guide(name, language).title if name in shipped_guides(language) else _stem(name)


def without_folder(text: str) -> str:
    """'sound file hall.flac' for 'sound file /home/me/hall.flac'."""
    words, slash, _ = text.partition("/")
    if slash:
        return words + PurePath(text[len(words) :]).name
    return text if "\\" not in text else PureWindowsPath(text).name


def _stem(name: str) -> str:
    last = PureWindowsPath(name).name if "\\" in name else PurePath(name).name
    return last.removesuffix(".toml") or name
