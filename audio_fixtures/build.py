"""Speaks a script into one recording of a visit, with the noise of a room.

    python audio_fixtures/build.py audio_fixtures/harbour-hall.script.toml

The voices are those of a rehearsal (handsfree/rehearsal/synthetic_voices.py): robots from the
Debian packages flite, festival and espeak-ng, or natural ones from the folder that HANDSFREE_VOICES
names. Writes the FLAC file named in the script, next to it. The same script gives the same sound
with the same versions of the voices.
"""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path

import numpy as np
import soundfile

from handsfree.rehearsal.synthetic_voices import SyntheticVoices

RATE_HZ = 16000
BEFORE = 800  # samples that are kept before the first loud one
PAUSE_S = 0.7
VOICE_RMS = 0.05
SIGNAL_TO_NOISE_DB = 20.0
CLOCK = re.compile(r"^clock (?P<who>[\w-]+): (?P<marks>.+)$")
LINE = re.compile(r"^(?:\.\.\.(?P<wait>[\d.]+)\s+)?(?P<who>[\w-]+):\s*(?P<words>.+)$")


def speak(voices: SyntheticVoices, voice: str, words: str) -> np.ndarray:
    """The words in a voice ('natural:am_fenrir', 'flite:rms', 'espeak:en-us+m3')."""
    samples = voices.say(voice, words)
    loud = np.flatnonzero(np.abs(samples) > 0.01 * np.abs(samples).max())
    samples = samples[loud[0] : loud[-1] + 1]
    samples = np.concatenate((np.zeros(BEFORE), samples, np.zeros(1600)))
    return samples * (VOICE_RMS / np.sqrt(np.mean(samples**2)))


def cycle(voices: SyntheticVoices, voice: str, marks: str) -> np.ndarray:
    """One run of the clock: 'go 0, check 3.6, ...' puts the start of each word at its second."""
    at = [(word, float(second)) for word, second in (mark.split() for mark in marks.split(", "))]
    sound = np.zeros(round((at[-1][1] + 2.5) * RATE_HZ))
    for word, second in at:
        spoken = speak(voices, voice, word)
        start = round((second + 1.0) * RATE_HZ) - BEFORE
        sound[start : start + len(spoken)] += spoken
    return sound


def room_noise(count: int) -> np.ndarray:
    """A ventilated room: noise that falls with frequency, and a faint mains hum."""
    rng = np.random.default_rng(417)
    spectrum = np.fft.rfft(rng.standard_normal(count))
    frequency_hz = np.fft.rfftfreq(count, 1 / RATE_HZ)
    noise = np.fft.irfft(spectrum / np.sqrt(np.maximum(frequency_hz, 60.0)), count)
    noise /= np.sqrt(np.mean(noise**2))
    hum = 0.2 * np.sin(2 * np.pi * 120.0 * np.arange(count) / RATE_HZ)
    return noise + hum


def build(script: Path) -> Path:
    """Writes the recording of a script and returns its path."""
    data = tomllib.loads(script.read_text(encoding="utf-8"))
    parts = [np.zeros(RATE_HZ)]
    voices = SyntheticVoices()
    for line in data["script"]["lines"].splitlines():
        if not line or line.startswith("#"):
            continue
        if clock := CLOCK.match(line):
            parts.append(cycle(voices, data["voices"][clock["who"]], clock["marks"]))
            continue
        match = LINE.match(line)
        if match is None or match["who"] not in data["voices"]:
            sys.exit(f"{script}: cannot read the line '{line}'")
        wait_s = float(match["wait"] or PAUSE_S)
        parts.append(np.zeros(round(wait_s * RATE_HZ)))
        parts.append(speak(voices, data["voices"][match["who"]], match["words"]))
    parts.append(np.zeros(RATE_HZ))
    sound = np.concatenate(parts)
    noise_rms = VOICE_RMS * 10 ** (-SIGNAL_TO_NOISE_DB / 20)
    sound = sound + noise_rms * room_noise(len(sound))
    out = script.parent / data["sound"]
    soundfile.write(out, np.round(sound * 32767).astype(np.int16), RATE_HZ, subtype="PCM_16")
    return out


if __name__ == "__main__":
    for argument in sys.argv[1:]:
        print(build(Path(argument)))
