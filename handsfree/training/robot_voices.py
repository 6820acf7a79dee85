"""The synthetic voices of the training: flite, SVOX Pico and espeak-ng, called as libraries.

Starting programs would take several times as long. The voice, speed and pitch of each text depend
on the text's number, so that a run can be repeated.
"""

from __future__ import annotations

import ctypes
import shutil
from collections.abc import Generator, Iterable
from multiprocessing import Pool
from pathlib import Path
from random import Random
from types import ModuleType
from typing import Any

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.int16]

RATE_HZ = 16_000
FLITE_PITCH_HZ = {"cmu_us_rms": 100.0, "cmu_us_awb": 125.0, "cmu_us_kal16": 105.0}
"""Voices of flite with their pitch (Hz); slt is held out for measurements."""
PICO = ("en-US", "en-GB")
ACCENTS = ("en-us", "en-us", "en-us", "en", "en-gb-x-rp", "en-gb-scotland", "en-029")
VARIANTS = ("m1", "m2", "m4", "m5", "m6", "m7", "m8", "f1", "f3", "f4", "f5")
"""Variants of espeak-ng's voices; m3 and f2 are held out for measurements."""
_SHARES = {"flite": 0.40, "pico": 0.36, "espeak": 0.24}

_FLITE_LIBRARIES = ("libflite.so.1", "libflite_usenglish.so.1", "libflite_cmulex.so.1")
_SYSTEM_LIBRARIES = Path("/usr/lib/x86_64-linux-gnu")
_ESPEAK_RETRIEVE, _ESPEAK_UTF8, _ESPEAK_RATE, _ESPEAK_PITCH = 1, 1, 1, 3


def carry(folder: Path) -> None:
    """Copies the libraries and data of the engines, English only, into one folder.

    flite comes from Debian (libflite1), the others from the wheels of the train extra.
    """
    import ctts
    import espeakng_loader
    import ttspico

    folder.mkdir(parents=True, exist_ok=True)
    for name in (*_FLITE_LIBRARIES, *(f"libflite_{v}.so.1" for v in FLITE_PITCH_HZ)):
        shutil.copy(_SYSTEM_LIBRARIES / name, folder)
    shutil.copy(_SYSTEM_LIBRARIES / "libasound.so.2", folder)
    shutil.copy(_file(ctts), folder / "pico.so")
    for language in PICO:
        for path in Path(ttspico._LANG_DIR).glob(f"{language}_*.bin"):
            shutil.copy(path, folder)
    shutil.copy(espeakng_loader.get_library_path(), folder / "libespeak-ng.so")
    data, kept = Path(espeakng_loader.get_data_path()), folder / "espeak-ng-data"
    kept.mkdir(exist_ok=True)
    for name in ("phontab", "phonindex", "phondata", "intonations", "en_dict"):
        shutil.copy(data / name, kept)
    shutil.copytree(data / "voices", kept / "voices", dirs_exist_ok=True)
    shutil.copytree(data / "lang" / "gmw", kept / "lang" / "gmw", dirs_exist_ok=True)


def read_all(
    texts: Iterable[str], folder: Path, processes: int
) -> Generator[tuple[int, Sound], None, None]:
    """Yields each text's sound with its number, in the order in which the processes finish.

    The sound is mono at 16 kHz, at half of full scale, without surrounding silence. Closing the
    generator ends the processes.
    """
    with Pool(processes, _start, (folder,)) as pool:
        for number, sound in pool.imap_unordered(_read, enumerate(texts), chunksize=8):
            if sound is not None:
                yield number, sound


class _FliteWave(ctypes.Structure):
    _fields_ = (
        ("type", ctypes.c_char_p),
        ("sample_rate", ctypes.c_int),
        ("num_samples", ctypes.c_int),
        ("num_channels", ctypes.c_int),
        ("samples", ctypes.POINTER(ctypes.c_short)),
    )


class _FliteVoice(ctypes.Structure):
    _fields_ = (("name", ctypes.c_char_p), ("features", ctypes.c_void_p))


class _Flite:
    def __init__(self, folder: Path) -> None:
        _load(folder / "libasound.so.2")
        self._library, *_ = [_load(folder / name) for name in _FLITE_LIBRARIES]
        self._library.flite_init()
        text_to_wave = self._library.flite_text_to_wave
        text_to_wave.restype = ctypes.POINTER(_FliteWave)
        text_to_wave.argtypes = [ctypes.c_char_p, ctypes.POINTER(_FliteVoice)]
        set_float = self._library.flite_feat_set_float
        set_float.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_float]
        self._library.delete_wave.argtypes = [ctypes.POINTER(_FliteWave)]
        self._voices = {}
        for name in FLITE_PITCH_HZ:
            library = _load(folder / f"libflite_{name}.so.1")
            register = getattr(library, f"register_{name}")
            register.restype = ctypes.POINTER(_FliteVoice)
            self._voices[name] = register(None)

    def read(self, text: str, rng: Random) -> tuple[Sound, int]:
        name = rng.choice(tuple(FLITE_PITCH_HZ))
        pitch_hz = FLITE_PITCH_HZ[name] * rng.uniform(0.75, 2.0)
        features = self._voices[name].contents.features
        set_float = self._library.flite_feat_set_float
        set_float(features, b"duration_stretch", rng.uniform(0.75, 1.35))
        set_float(features, b"int_f0_target_mean", pitch_hz)
        wave = self._library.flite_text_to_wave(text.encode(), self._voices[name])
        found = wave.contents
        sound = np.ctypeslib.as_array(found.samples, (found.num_samples,)).copy()
        rate_hz = found.sample_rate
        self._library.delete_wave(wave)
        return sound, rate_hz


class _Pico:
    def __init__(self, folder: Path) -> None:
        self._library = _load(folder / "pico.so")
        self._library.TtsEngine_Create.restype = ctypes.c_void_p
        for name, kind in (("Speak", ctypes.c_char_p), ("SetPitch", int), ("SetRate", int)):
            given = [kind, ctypes.c_void_p] if name == "Speak" else [ctypes.c_int]
            getattr(self._library, f"TtsEngine_{name}").argtypes = [ctypes.c_void_p, *given]
        self._heard: list[bytes] = []
        self._collect = ctypes.CFUNCTYPE(
            *(ctypes.c_bool, ctypes.c_void_p, ctypes.c_uint32, ctypes.c_uint32, ctypes.c_int),
            *(ctypes.POINTER(ctypes.c_uint8), ctypes.c_uint32, ctypes.c_bool),
        )(self._take)
        create = self._library.TtsEngine_Create
        place = f"{folder}/".encode()
        self._engines = [create(place, language.encode(), self._collect) for language in PICO]

    def _take(self, _1: Any, _rate: int, _kind: int, _n: int, at: Any, size: int, _2: bool) -> int:
        self._heard.append(ctypes.string_at(at, size))
        return True

    def read(self, text: str, rng: Random) -> tuple[Sound, int]:
        engine = rng.choice(self._engines)
        self._library.TtsEngine_SetPitch(engine, rng.randint(65, 125))
        self._library.TtsEngine_SetRate(engine, rng.randint(75, 140))
        self._heard.clear()
        self._library.TtsEngine_Speak(engine, text.encode(), None)
        return np.frombuffer(b"".join(self._heard), np.int16), RATE_HZ


class _Espeak:
    def __init__(self, folder: Path) -> None:
        self._library = _load(folder / "libespeak-ng.so")
        self._heard: list[Sound] = []
        callback = ctypes.CFUNCTYPE(
            ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p
        )
        self._collect = callback(self._take)
        initialise = self._library.espeak_Initialize
        self._rate_hz: int = initialise(_ESPEAK_RETRIEVE, 0, str(folder).encode(), 0)
        self._library.espeak_SetSynthCallback(self._collect)

    def _take(self, samples: Any, count: int, _events: Any) -> int:
        if samples and count > 0:
            self._heard.append(np.ctypeslib.as_array(samples, (count,)).copy())
        return 0

    def read(self, text: str, rng: Random) -> tuple[Sound, int]:
        voice = f"{rng.choice(ACCENTS)}+{rng.choice(VARIANTS)}"
        self._library.espeak_SetVoiceByName(voice.encode())
        self._library.espeak_SetParameter(_ESPEAK_RATE, rng.randint(120, 215), 0)
        self._library.espeak_SetParameter(_ESPEAK_PITCH, rng.randint(20, 80), 0)
        self._heard.clear()
        said = text.encode() + b"\0"
        self._library.espeak_Synth(said, len(said), 0, 0, 0, _ESPEAK_UTF8, None, None)
        self._library.espeak_Synchronize()
        return np.concatenate(self._heard or [np.zeros(0, np.int16)]), self._rate_hz


_engines: dict[str, _Flite | _Pico | _Espeak] = {}


def _start(folder: Path) -> None:
    _engines.update(flite=_Flite(folder), pico=_Pico(folder), espeak=_Espeak(folder))


def _read(job: tuple[int, str]) -> tuple[int, Sound | None]:
    number, text = job
    rng = Random(number)
    (engine,) = rng.choices(list(_SHARES), list(_SHARES.values()))
    sound, rate_hz = _engines[engine].read(text, rng)
    return number, _trimmed(resampled(sound.astype(np.float32), rate_hz))


def _trimmed(samples: NDArray[np.float32]) -> Sound | None:
    loud = np.flatnonzero(np.abs(samples) > 0.01 * np.abs(samples).max(initial=1.0))
    if len(loud) < 800:
        return None
    samples = samples[max(0, loud[0] - 300) : loud[-1] + 700]
    return np.asarray(samples * (16000.0 / np.abs(samples).max()), np.int16)


def resampled(samples: NDArray[np.float32], rate_hz: int) -> NDArray[np.float32]:
    """Resamples sound to 16 kHz."""
    if rate_hz == RATE_HZ:
        return samples
    length = round(len(samples) * RATE_HZ / rate_hz)
    spectrum = np.fft.rfft(samples)[: length // 2 + 1]
    return (np.fft.irfft(spectrum, length) * (length / len(samples))).astype(np.float32)


def _load(path: Path) -> ctypes.CDLL:
    return ctypes.CDLL(str(path), mode=ctypes.RTLD_GLOBAL)


def _file(module: ModuleType) -> str:
    assert module.__file__ is not None
    return module.__file__
