"""The speaking voice's process: ``python -m handsfree.synthesis.tts_worker [LANGUAGE...] RATE``.

RATE is in words per minute. A LANGUAGE is a tag such as es-419; the worker uses the first one for
which a voice exists, or the system's own voice if none is given.

One request per line on stdin, one answer per line on stdout, both JSON::

    {"text": "Power off.", "path": "/tmp/x/1.wav"}  ->  {"ok": true}
                                                        {"ok": false, "why": "..."}

It answers ``{"ok": true}`` once when the voice is ready, before any request. pyttsx3 hangs or goes
silent when two utterances or two threads use it at once. So it runs alone here, writes one file at
a time, and may be killed. A rate set after the first text may take effect one text late, or never,
so a process keeps one rate. With espeak ``runAndWait`` may return while the sound is still being
made (seen on a busy machine: no file, or half of one), so only the driver's own end event counts.
"""

from __future__ import annotations

import ctypes
import json
import os
import sys
import threading
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Any, TextIO

MOST_S = 4.0
"""Time limit for one text (s); the parent process gives up a second later."""
STILL_S = 0.5
"""Time without growth after which a file counts as complete (s)."""


def main() -> None:
    """Serves requests until stdin ends."""
    answers = _private_stdout()
    try:
        _preload_espeak()
        import pyttsx3

        engine = pyttsx3.init()
        *languages, rate_wpm = sys.argv[1:]
        _apply_settings_at_once(engine)
        if languages:
            engine.setProperty("voice", _voice_of(languages, engine.getProperty("voices")))
        engine.setProperty("rate", int(rate_wpm))
        _until_idle()
        finished = threading.Event()
        engine.connect("finished-utterance", lambda name, completed: finished.set())
    except Exception as error:  # any exception of a driver becomes the answer
        _answer(answers, error)
        return
    _answer(answers)
    for line in sys.stdin:
        request = json.loads(line)
        finished.clear()
        try:
            _until_idle()  # the previous text has ended, but perhaps not its cleanup
            engine.save_to_file(request["text"], request["path"])
            engine.runAndWait()
            _wait_for(finished, Path(request["path"]))
        except Exception as error:
            _answer(answers, error)
        else:
            _answer(answers)


def _until_idle() -> None:
    """Waits until espeak has finished its queue; returns at once for other drivers.

    espeak queues voice, rate and text. When pyttsx3's loop ends while some of it is pending, it
    calls espeak's cancel: the queue is dropped and the previous settings return. On a busy machine
    one text in a hundred was therefore spoken at the default rate, by the default voice, or not at
    all.
    """
    if sys.platform != "linux":
        return
    from pyttsx3.drivers import _espeak

    until_s = time.monotonic() + MOST_S
    while _espeak.IsPlaying() and time.monotonic() < until_s:
        time.sleep(0.002)


def _apply_settings_at_once(engine: Any) -> None:
    """Makes settings reach espeak at once instead of with the first text.

    pyttsx3 holds them back until its loop has run once. It may run only once without a text: a
    second run would never end, and with other drivers neither would the first.
    """
    if sys.platform == "linux":
        _until_idle()
        engine.runAndWait()


def _wait_for(finished: threading.Event, file: Path) -> None:
    """Returns once the sound is complete. Raises TimeoutError.

    A driver that writes the file before it returns may not report the end, so a file that has
    stopped growing counts as complete.
    """
    size, since_s = 0, time.monotonic()
    until_s = since_s + MOST_S
    while not finished.wait(0.01):
        now_s = time.monotonic()
        now = file.stat().st_size if file.exists() else 0
        if now != size:
            size, since_s = now, now_s
        elif size and now_s - since_s >= STILL_S:
            return
        if now_s > until_s:
            raise TimeoutError("no sound was written")


def _voice_of(languages: list[str], voices: Iterable[Any]) -> str:
    """Finds the first voice of the first language that has one and returns its id.

    Drivers report a voice's languages as text or bytes, with '_' or '-'. Raises LookupError.
    """
    for wanted in languages:
        for voice in voices:
            if wanted.lower() in map(_tag, voice.languages):
                return str(voice.id)
    raise LookupError(f"no voice speaks {' or '.join(languages)}")


def _tag(language: str | bytes) -> str:
    text = language.decode("ascii", "ignore") if isinstance(language, bytes) else language
    return text.strip("\x00\x01\x02\x03\x04\x05 ").replace("_", "-").lower()


def _private_stdout() -> TextIO:
    """Reserves the real stdout for answers; whatever a driver prints goes to stderr."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    return answers


def _answer(answers: TextIO, error: Exception | None = None) -> None:
    answer = {"ok": True} if error is None else {"ok": False, "why": _why(error)}
    answers.write(json.dumps(answer) + "\n")
    answers.flush()


def _why(error: Exception) -> str:
    lines = str(error).strip().splitlines()
    return lines[0] if lines else type(error).__name__


def _preload_espeak() -> None:
    """Loads the library of the optional package espeakng_loader if the system has none.

    It must be loaded globally before pyttsx3 is imported, which looks up its symbols.
    """
    if sys.platform != "linux" or _loads("libespeak-ng.so.1") or _loads("libespeak.so.1"):
        return
    try:
        import espeakng_loader
    except ImportError:
        return
    ctypes.CDLL(espeakng_loader.get_library_path(), mode=ctypes.RTLD_GLOBAL)
    os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


if __name__ == "__main__":
    main()
