"""Selects the second ear of a visit: a folder in the settings, the installed package, or none."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

from handsfree.errors import SecondEarError
from handsfree.second_ear.ear_process import ProcessEar
from handsfree.second_ear.weights import (
    PACKAGE_SHA256,
    Weights,
    english_only,
    packaged_weights,
    weights_in,
)

OFF = "off"
NEEDED = "ctranslate2"


def chosen_weights(setting: str | None) -> Weights | None:
    """Finds the weights to use; None if no second ear is wanted or installed.

    ``setting`` is a folder, 'off', or None for the installed package. Raises SecondEarError if a
    named folder or the installed package cannot be used.
    """
    if setting == OFF:
        return None
    runs = find_spec(NEEDED) is not None
    if setting is None:
        return packaged_weights() if runs else None
    if not runs:
        raise SecondEarError(
            "the second ear needs the package ctranslate2",
            way_out="pip install 'handsfree[second-ear]', or: handsfree settings unset second_ear",
        )
    return weights_in(Path(setting))


def open_second_ear(setting: str | None, language: str) -> ProcessEar | None:
    """Opens the second ear in its process, or returns None.

    Raises SecondEarError like ``chosen_weights``, and for a language that the weights do not
    support if that is known before they are loaded.
    """
    weights = chosen_weights(setting)
    if weights is None:
        return None
    if weights.sha256 == PACKAGE_SHA256["model.bin"] and language != "en":
        raise english_only(language, weights.folder)
    return ProcessEar(weights.called, str(weights.folder), language)
