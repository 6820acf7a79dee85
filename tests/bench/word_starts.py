"""Measures how well the starts of words are located, on synthetic speech with known word starts."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import numpy as np

from handsfree.audio.sound_files import read_sound
from handsfree.recognition.recognizer import Recognizer
from handsfree.sample_rate import SAMPLE_RATE_HZ
from tests.bench.listening_material import PAUSE, Sample, Sound, in_noise, level_name

VOICE = "festival:cmu_us_slt_arctic_hts"
LEVELS_DB: tuple[float | None, ...] = (None, 20.0)

_READ = """
(set! utt (SynthText "{text}"))
(utt.save.wave utt "{wav}" 'riff)
(set! out (fopen "{words}" "w"))
(mapcar (lambda (word) (format out "%s %f\\n" (item.name word) (item.feat word 'word_start)))
        (utt.relation.items utt 'Word))
(fclose out)
"""

Timed = tuple[Sample, list[float]]
Errors = dict[str, float | int]


def timed(texts: list[str]) -> list[Timed]:
    """Reads the texts with festival, with the start of the first sound of each word (s).

    A text that festival reads in different words is left out.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        files = [(folder / f"{i}.wav", folder / f"{i}.txt") for i in range(len(texts))]
        script = [f"(voice_{VOICE.removeprefix('festival:')})"]
        script += [
            _READ.format(text=text, wav=wav, words=words)
            for text, (wav, words) in zip(texts, files, strict=True)
        ]
        (folder / "read.scm").write_text("\n".join(script), encoding="utf-8")
        command = ["festival", "-b", str(folder / "read.scm")]
        subprocess.run(command, check=True, capture_output=True)
        found = []
        for text, (wav, words) in zip(texts, files, strict=True):
            lines = [line.split() for line in words.read_text(encoding="utf-8").splitlines()]
            if [word.lower() for word, _ in lines] == text.split():
                sample = Sample(read_sound(wav).astype(np.float64), text, VOICE)
                found.append((sample, [float(start) for _, start in lines]))
        return found


def word_starts(recognizer: Recognizer, read: list[Timed], noise: list[Sound]) -> dict[str, Errors]:
    """Returns recognized start minus true start by level, over the utterances whose words are all
    right.
    """
    return {level_name(level): _errors(recognizer, read, level, noise) for level in LEVELS_DB}


def shown(by_level: dict[str, Errors]) -> str:
    """Formats one line for each level."""
    lines = []
    for level, errors in by_level.items():
        line = "word starts, {level}: {words} words of {utterances} utterances"
        if errors["words"]:
            line += ", mean {mean_ms} ms, SD {sd_ms} ms, 95 % within {p95_of_size_ms} ms"
        lines.append(line.format(level=level, **errors))
    return "\n".join(lines)


def _errors(
    recognizer: Recognizer, read: list[Timed], level_db: float | None, noise: list[Sound]
) -> Errors:
    errors_ms: list[float] = []
    utterances = 0
    for sample, starts_s in read:
        heard = recognizer.recognize(in_noise(sample, level_db, noise))
        if heard.text != sample.text:
            continue
        utterances += 1
        errors_ms += [
            1000 * (word.start_s - len(PAUSE) / SAMPLE_RATE_HZ - start_s)
            for word, start_s in zip(heard.words, starts_s, strict=True)
        ]
    if not errors_ms:
        return {"words": 0, "utterances": 0}
    return {
        "mean_ms": round(float(np.mean(errors_ms)), 1),
        "sd_ms": round(float(np.std(errors_ms)), 1),
        "p95_of_size_ms": round(float(np.quantile(np.abs(errors_ms), 0.95)), 1),
        "words": len(errors_ms),
        "utterances": utterances,
    }
