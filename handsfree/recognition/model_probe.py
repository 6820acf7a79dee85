"""Opens a speech model in its own process: ``python -m handsfree.recognition.model_probe FOLDER``.

Vosk 0.3.45 ends its process on some damaged files, through an assertion or an out-of-bounds access
that the caller cannot catch. A runtime grammar, if any, is read from stdin.
"""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

from handsfree.errors import ModelError

TIME_LIMIT_S = 120.0
_COMPLAINTS = ("ERROR", "ASSERTION_FAILED", "FATAL")


def probe_model(folder: Path, grammar: str | None = None) -> None:
    """Raises ModelError if Vosk cannot open the model and recognize a second of noise."""
    command = [sys.executable, "-m", "handsfree.recognition.model_probe", str(folder)]
    try:
        done = subprocess.run(
            command,
            input=grammar or "",
            capture_output=True,
            encoding="utf-8",
            timeout=TIME_LIMIT_S,
        )
    except subprocess.TimeoutExpired:
        reason: str | None = f"it takes more than {TIME_LIMIT_S:g} s"
    else:
        reason = last_complaint(done.stderr.splitlines()) or _end(done.returncode)
    if reason is not None:
        raise ModelError(
            f"Vosk cannot open this speech model: {reason}",
            file=folder,
            way_out="one of its files is damaged: install or build the model again",
        )


def last_complaint(log: Iterable[str]) -> str | None:
    """Extracts the last error from Vosk's log: 'ERROR (where) what' or 'ERROR: what'."""
    errors = [line for line in log if line.startswith(_COMPLAINTS)]
    if not errors:
        return None
    separator = ") " if ") " in errors[-1] else ": "
    return errors[-1].split(separator, 1)[-1].strip()


def main() -> None:
    """Opens the model named on the command line; an error ends the process."""
    import numpy as np
    import vosk

    vosk.SetLogLevel(-1)
    grammar = sys.stdin.read()
    model = vosk.Model(sys.argv[1])
    search = vosk.KaldiRecognizer(model, 16_000, *([grammar] if grammar else []))
    search.SetMaxAlternatives(1)
    search.SetWords(True)
    noise = np.random.default_rng(1).normal(0, 300, 16_000).astype(np.int16)
    search.AcceptWaveform(noise.tobytes())
    search.FinalResult()


def _end(code: int) -> str | None:
    if code == 0:
        return None
    return (
        f"its process ended by {signal.Signals(-code).name}" if code < 0 else "it gives no reason"
    )


if __name__ == "__main__":
    main()
