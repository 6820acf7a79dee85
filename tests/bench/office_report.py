"""Measures the report: time, size, and how well its compressed clips are understood."""

from __future__ import annotations

import io
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np
import soundfile
import soxr

from handsfree.data import data_folder
from handsfree.journal import events as ev
from handsfree.journal.reader import read
from handsfree.language.interpreter import Language
from handsfree.recognition.ears import RecordedEars
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.reports.embedded_sound import GRADES, InlineSound, NoSound, small
from handsfree.reports.report_html import report_html
from handsfree.visit_record.load import load_record

from ..browser import address_of, chromium, page_at
from ..reports.hour import hour_visit
from ..reports.test_report_hostile import many, visit

TALK = {"quiet": 0.0, "usual": 1.0, "talkative": 3.0}
"""Amount of talk besides the readings."""


def report(folder: Path) -> dict[str, Any]:
    """Measures a visit of an hour, with little, some and much talk."""
    results = {}
    for name, busy in TALK.items():
        hour = hour_visit(folder / name, busy=busy)
        heard = [e.body for e in read(hour) if isinstance(e.body, ev.Heard)]
        seconds = sum(float(h.end_s - h.start_s) for h in heard if h.end_s is not None)
        page = folder / f"{name}.html"
        made_s = median(_timed(lambda hour=hour, page=page: _write(hour, page)) for _ in range(5))
        command_s = median(_timed(lambda hour=hour: _command(hour)) for _ in range(3))
        processor_s = sorted(_processor(lambda hour=hour: _command(hour)) for _ in range(7))
        results[name] = {
            "utterances": len(heard),
            "sound_s": round(seconds),
            "page_mb": round(page.stat().st_size / 1e6, 2),
            "made_s": round(made_s, 2),
            "command_s": round(command_s, 2),
            "processor_s": [round(each, 2) for each in (processor_s[0], median(processor_s))],
            **_in_browser(page),
        }
        print(f"{name}: {results[name]}")
    return results


def large(folder: Path) -> dict[str, Any]:
    """Measures a journal of 100,000 events."""
    long = visit(folder / "long", *many(20_000))
    begin = time.perf_counter()
    record = load_record(long)
    folded = time.perf_counter()
    page = report_html(record, NoSound())
    done = time.perf_counter()
    result = {
        "events": record.verification.lines,
        "dossier_s": round(folded - begin, 1),
        "page_s": round(done - folded, 1),
        "page_mb": round(len(page.encode()) / 1e6, 1),
    }
    print(result)
    return result


def sound(folder: Path) -> dict[str, Any]:
    """Counts the compressed clips of the recorded visit understood like the original."""
    recognizer = VoskRecognizer(SpeechModel.load(None), Language.load().automaton())
    ears = RecordedEars(data_folder("audio_fixtures") / "harbour-hall.flac", recognizer)
    clips = []
    while (heard := ears.listen()) is not None:
        clips.append(heard)
    kept = sum(len(_flac(clip.samples)) for clip in clips)
    seconds = sum(len(clip.samples) for clip in clips) / 16000
    results: dict[str, Any] = {"clips": len(clips), "kept_bytes_a_second": round(kept / seconds)}
    for grade in GRADES:
        begin = time.perf_counter()
        made = [small(clip.samples, grade) for clip in clips]
        took_s = time.perf_counter() - begin
        same = sum(
            recognizer.recognize(_wide(content)).text == clip.text
            for clip, content in zip(clips, made, strict=True)
        )
        results[f"{grade.rate} Hz, {grade.steps} steps"] = {
            "bytes_a_second": round(sum(map(len, made)) / seconds),
            "heard_the_same": f"{same} of {len(clips)}",
            "times_real_time": round(seconds / took_s),
        }
    for name, value in results.items():
        print(f"{name}: {value}")
    return results


def _write(hour: Path, page: Path) -> None:
    page.write_text(report_html(load_record(hour), InlineSound(hour)), encoding="utf-8")


def _command(hour: Path) -> None:
    command = [sys.executable, "-m", "handsfree", "report", str(hour)]
    subprocess.run(command, check=True, capture_output=True)


def _timed(work: Callable[[], None]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def _processor(work: Callable[[], None]) -> float:
    """Returns the processor time of the programs that ``work`` runs (s)."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    work()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _in_browser(page: Path) -> dict[str, Any]:
    """Returns the times to the first paint and to the whole page, in a real browser."""
    paint = "performance.getEntriesByName('first-contentful-paint')[0].startTime"
    load = "performance.getEntriesByType('navigation')[0].loadEventEnd"
    seen = []
    with chromium() as browser:
        for _ in range(3):
            with page_at(browser, address_of(page)) as opened:
                opened.wait_for_timeout(300)
                seen.append((opened.evaluate(paint), opened.evaluate(load)))
    return {
        "first_paint_s": round(median(first for first, _ in seen) / 1000, 2),
        "loaded_s": round(median(last for _, last in seen) / 1000, 2),
    }


def _flac(samples: np.ndarray) -> bytes:
    content = io.BytesIO()
    soundfile.write(content, samples, 16000, format="FLAC", subtype="PCM_16")
    return content.getvalue()


def _wide(content: bytes) -> np.ndarray:
    """Converts a compressed clip for the recognizer: 16 kHz, at its original level."""
    samples, rate = soundfile.read(io.BytesIO(content), dtype="float64")
    wide = soxr.resample(samples, rate, 16000) * 8000
    return np.clip(wide, -32768, 32767).astype(np.int16)
