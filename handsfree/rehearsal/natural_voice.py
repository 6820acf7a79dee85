"""Natural synthetic voices for the technician, made on this machine.

The package does not include the folder of voices (docs/speech-model.md, 'The natural voices'); the
variable HANDSFREE_VOICES names it. It holds kokoro.onnx, config.json and voices/NAME.bin. The
program espeak-ng turns text into phonemes, and onnxruntime (the extra 'natural-voices') turns
phonemes into sound.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ

Sound = NDArray[np.float64]

FOLDER_VARIABLE = "HANDSFREE_VOICES"
_MADE_AT_HZ = 24_000
_STYLES, _STYLE = 510, 256
"""Number of style vectors of a voice, one per number of symbols, and their length."""
_RUN_S = 30.0
_ACCENTS = {"a": "en-us", "b": "en", "e": "es-419"}
"""Accent by the first letter of a voice: American, British, Spanish; the default is American
English.
"""

_LIVE = re.compile(r"\blive\b")
"""A wire is live. After 'still' espeak-ng takes it for the verb, and says another vowel."""


def why_missing(name: str) -> str | None:
    """Says why a voice is unavailable; None if it is available."""
    folder = os.environ.get(FOLDER_VARIABLE)
    if not folder:
        return f"the variable {FOLDER_VARIABLE} is not set to a folder of natural voices"
    for needed in ("kokoro.onnx", "config.json", f"voices/{name}.bin"):
        if not (Path(folder) / needed).is_file():
            return f"{folder} has no {needed}"
    if find_spec("onnxruntime") is None:
        return "onnxruntime is not installed: pip install 'handsfree[natural-voices]'"
    if shutil.which("espeak-ng") is None:
        return "the program espeak-ng is not installed"
    return None


def made(name: str, text: str) -> Sound:
    """Speaks the text in an available voice: mono at 16 kHz. Raises OSError, SubprocessError."""
    folder = Path(os.environ[FOLDER_VARIABLE])
    tokens = _tokens(folder, f"{text}.", _ACCENTS.get(name[0], "en-us"))
    styles = np.fromfile(folder / "voices" / f"{name}.bin", "<f4").reshape(_STYLES, 1, _STYLE)
    session = _session(folder / "kokoro.onnx")
    names = [each.name for each in session.get_inputs()]
    given = ([[0, *tokens, 0]], styles[len(tokens)], np.ones(1, np.float32))
    (sound, *_) = session.run(None, dict(zip(names, given, strict=True)))
    return np.asarray(
        soxr.resample(np.ravel(sound).astype(np.float64), _MADE_AT_HZ, SAMPLE_RATE_HZ)
    )


def _tokens(folder: Path, text: str, accent: str) -> list[int]:
    symbols = _symbols(folder / "config.json")
    command = ["espeak-ng", "-q", "--ipa", "-v", accent, _LIVE.sub("lyve", text)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=_RUN_S)
    said = " ".join(done.stdout.split()) + text[-1]
    return [symbols[each] for each in said if each in symbols]


@cache
def _symbols(config: Path) -> dict[str, int]:
    found: dict[str, int] = json.loads(config.read_text(encoding="utf-8"))["vocab"]
    return found


@cache
def _session(network: Path) -> Any:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    return onnxruntime.InferenceSession(network, options, providers=["CPUExecutionProvider"])
