"""Measures the costs of recognition: time to a result, time to load, memory, bytes."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from handsfree.audio.sound_files import read_sound, write_sound
from handsfree.language.interpreter import Language
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ

ROOT = Path(__file__).parents[2]


def decoding(
    hear: Callable[[NDArray[np.int16]], str], sounds: list[NDArray[np.int16]]
) -> dict[str, float | int]:
    """Measures the time of the recognizer alone, after a first utterance that is not counted.

    The recognizer gets an utterance whole, after its end (recognition/ears.py), so the time from
    the end of the sound to the result is the time of the whole decoding.
    """
    hear(sounds[0])
    processor_s, wall_s = [], []
    for sound in sounds:
        began_s, processor_began_s = time.perf_counter(), time.process_time()
        hear(sound)
        processor_s.append(time.process_time() - processor_began_s)
        wall_s.append(time.perf_counter() - began_s)
    length_s = sum(map(len, sounds)) / SAMPLE_RATE_HZ
    return {
        "utterances": len(sounds),
        "mean_length_s": round(length_s / len(sounds), 2),
        "real_time_factor": round(sum(processor_s) / length_s, 4),
        **_quantiles("processor", processor_s),
        **_quantiles("latency", wall_s),
    }


def process_costs(folder: Path, sound: NDArray[np.int16], scratch: Path) -> dict[str, float | int]:
    """Measures load time and resident memory of a separate process that decodes one utterance."""
    wav = scratch / "one.wav"
    write_sound(wav, sound)
    command = [sys.executable, "-m", "tests.bench.hearing_costs", str(folder), str(wav)]
    done = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
    found: dict[str, float | int] = json.loads(done.stdout)
    files = [path for path in folder.rglob("*") if path.is_file()]
    return {**found, "model_bytes": sum(path.stat().st_size for path in files)}


def shown(costs: dict[str, float | int]) -> str:
    """Formats the costs in three lines."""
    lines = [
        "real-time factor {real_time_factor:.3f} (recognizer alone, processor time)",
        "end of sound to result: median {latency_median_ms:.0f} ms, 95 % within "
        "{latency_p95_ms:.0f} ms (on an idle core {processor_median_ms:.0f}, "
        "{processor_p95_ms:.0f} ms), utterances of {mean_length_s} s",
    ]
    if "load_s" in costs:
        lines.append(
            "load {load_s:.2f} s; resident {resident_mib:.0f} MiB, "
            "{resident_increase_mib:.0f} MiB more than before loading; {model_bytes:,} bytes"
        )
    return "\n".join(lines).format(**costs)


def _quantiles(name: str, values_s: list[float]) -> dict[str, float]:
    median, p95 = np.quantile(values_s, (0.5, 0.95)) * 1000
    return {f"{name}_median_ms": round(float(median), 1), f"{name}_p95_ms": round(float(p95), 1)}


def _resident_mib() -> float:
    lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
    (line,) = (line for line in lines if line.startswith("VmRSS:"))
    return int(line.split()[1]) / 1024


def _main(folder: str, wav: str) -> None:
    automaton, sound = Language.load().automaton(), read_sound(Path(wav))
    before_mib, began_s = _resident_mib(), time.perf_counter()
    recognizer = VoskRecognizer(SpeechModel.load(folder), automaton)
    load_s = time.perf_counter() - began_s
    recognizer.recognize(sound)
    resident_mib = _resident_mib()
    figures = {
        "load_s": round(load_s, 3),
        "resident_mib": round(resident_mib, 1),
        "resident_increase_mib": round(resident_mib - before_mib, 1),
    }
    print(json.dumps(figures))


if __name__ == "__main__":
    _main(*sys.argv[1:])
