"""The tones, measured from their samples without knowledge of their construction."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from numpy.typing import NDArray

from handsfree.audio.sound_files import resample, to_int16
from handsfree.language.interpreter import Language
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.synthesis.tones import ToneKind, tone
from tests.speech_fixtures import Synthesize

KINDS: tuple[ToneKind, ...] = get_args(ToneKind)
RATES = (8000, 16_000, 22_050, 48_000)
DOC = (Path(__file__).parents[2] / "docs" / "tones.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| `(\w+)` \| .+? \| ([\d, ]+) \| ([\d.]+) \| .+ \|$", DOC, re.MULTILINE)


@dataclass(frozen=True)
class Measured:
    """Properties of a tone that an ear can perceive."""

    pitches_hz: tuple[float, ...]
    seconds: float
    rms: float

    @property
    def directions(self) -> tuple[float, ...]:
        return tuple(np.sign(np.diff(self.pitches_hz)))


def measure(samples: NDArray[np.int16], rate: int) -> Measured:
    """Notes are what silence of 10 ms and more parts; their pitch is the peak of the spectrum."""
    sounding = np.flatnonzero(np.abs(samples) > 30)
    parts = np.split(sounding, np.flatnonzero(np.diff(sounding) > rate // 100) + 1)
    pitches = []
    for part in parts:
        note = samples[part[0] : part[-1] + 1].astype(float)
        spectrum = np.abs(np.fft.rfft(note * np.hanning(len(note)), 8 * rate))
        pitches.append(float(spectrum.argmax()) / 8)
    sound = samples[sounding].astype(float)
    return Measured(tuple(pitches), len(samples) / rate, float(np.sqrt(np.mean(sound**2))))


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("kind", KINDS)
def test_a_small_loudspeaker_and_an_ageing_ear_get_it(kind: ToneKind, rate: int) -> None:
    measured = measure(tone(kind, rate), rate)
    assert all(400 <= pitch <= 2000 for pitch in measured.pitches_hz)
    assert 0.08 <= measured.seconds <= 0.4


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("kind", KINDS)
def test_it_starts_and_ends_without_a_click(kind: ToneKind, rate: int) -> None:
    samples = tone(kind, rate).astype(float)
    ms = rate // 1000
    for edge in (samples, samples[::-1]):
        assert edge[0] == 0
        levels = [np.abs(edge[start * ms : (start + 3) * ms]).max() for start in (0, 3, 6, 9)]
        assert levels == sorted(levels)
        assert levels[0] < 0.2 * np.abs(samples).max()


@pytest.mark.parametrize(("one", "other"), list(combinations(KINDS, 2)))
def test_two_tones_differ_in_notes_and_in_where_they_go_but_not_in_level(
    one: ToneKind, other: ToneKind
) -> None:
    first, second = (measure(tone(kind, 16_000), 16_000) for kind in (one, other))
    assert len(first.pitches_hz) != len(second.pitches_hz)
    assert set(first.directions) != set(second.directions)
    assert first.rms == pytest.approx(second.rms, rel=0.1)


def test_what_noise_leaves_of_a_tone_is_never_accepted_nor_goes_up_from_it() -> None:
    def left_of(kind: ToneKind) -> set[tuple[float, ...]]:
        pitches = measure(tone(kind, 16_000), 16_000).pitches_hz
        kept = (notes for n in range(1, len(pitches)) for notes in combinations(pitches, n))
        return {tuple(np.sign(np.diff(notes).round())) for notes in kept}

    accepted = measure(tone("accepted", 16_000), 16_000).directions
    assert all(accepted not in left_of(kind) for kind in KINDS)
    assert left_of("accepted") == {(), (-1,)}
    assert left_of("understood") == {()}


def test_the_warning_is_the_longest() -> None:
    lengths = {kind: len(tone(kind, 16_000)) for kind in KINDS}
    rest = [length for kind, length in lengths.items() if kind != "warning"]
    assert lengths["warning"] >= 1.4 * max(rest)


@pytest.mark.parametrize("kind", KINDS)
def test_its_level_is_that_of_a_voice_and_far_from_clipping(
    kind: ToneKind, synthesize: Synthesize
) -> None:
    spoken = synthesize("left leaf opening time six point two seconds").astype(float)
    frames = spoken[: len(spoken) // 320 * 320].reshape(-1, 320)
    loud = np.sqrt(np.quantile(np.mean(frames**2, axis=1), 0.9))
    level = measure(tone(kind, 16_000), 16_000).rms
    assert np.sqrt(np.mean(spoken**2)) <= level <= 1.5 * loud
    assert np.abs(tone(kind, 16_000)).max() < 0.25 * 32768


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_the_recognizer_takes_it_for_no_sentence(
    kind: ToneKind, recognizer: VoskRecognizer, language: Language
) -> None:
    samples = to_int16(resample((tone(kind, 22_050) / 32768).astype(np.float32), 22_050))
    quiet = np.zeros(4800, np.int16)
    for sound in (samples, np.concatenate((quiet, samples, quiet)), np.tile(samples, 3)):
        assert language.parse(recognizer.recognize(sound).text) is None


def test_the_table_names_every_tone_once() -> None:
    assert [row[0] for row in ROWS] == list(KINDS)


@pytest.mark.parametrize(("kind", "pitches_hz", "length_s"), ROWS)
def test_the_table_says_what_is_heard(kind: ToneKind, pitches_hz: str, length_s: str) -> None:
    measured = measure(tone(kind, 48_000), 48_000)
    documented = [float(pitch) for pitch in pitches_hz.split(", ")]
    assert measured.pitches_hz == pytest.approx(documented, rel=0.01)
    assert measured.seconds == pytest.approx(float(length_s), abs=0.005)
