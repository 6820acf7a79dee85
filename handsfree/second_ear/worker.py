"""Runs the second ear: ``python -m handsfree.second_ear.worker FOLDER LANGUAGE [plain]``.

'plain' omits the prompt with the words of the trade.

One request per line on stdin, one answer per line on stdout, both JSON::

    {"sound": "<base64: int16, little-endian, mono, 16 kHz>"}  ->  {"text": "12 newtons"}
                                                                   {"why": "..."}

It answers ``{"text": ""}`` once when the network is loaded, before any request. It runs at low
priority and on one thread, so that the conversation comes first.
"""

from __future__ import annotations

import base64
import json
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TextIO

NICE = 5
"""Niceness added to the process, so that the conversation comes first."""


def main() -> None:
    """Serves requests until stdin ends."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # library output goes to stderr
    if hasattr(os, "nice"):
        with suppress(OSError):
            os.nice(NICE)
    for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ[threads] = "1"

    import numpy as np

    from handsfree.errors import SecondEarError
    from handsfree.second_ear.whisper_ctranslate2 import Whisper

    try:
        folder, language, *how = sys.argv[1:]
        ear = Whisper(Path(folder), language, in_context=how != ["plain"])
    except SecondEarError as error:
        _answer(answers, why=str(error))
        return
    _answer(answers, text="")
    for line in sys.stdin:
        sound = base64.b64decode(json.loads(line)["sound"])
        try:
            _answer(answers, text=ear.text(np.frombuffer(sound, "<i2")))
        except Exception as error:  # any exception of the library becomes the answer
            _answer(answers, why=str(error) or type(error).__name__)


def _answer(answers: TextIO, **answer: str) -> None:
    answers.write(json.dumps(answer) + "\n")
    answers.flush()


if __name__ == "__main__":
    main()
