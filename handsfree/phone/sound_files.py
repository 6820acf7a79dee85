"""Makes the app's sound files: speech models with their graphs, and tones."""

from __future__ import annotations

import gzip
import io
import tarfile
import tempfile
import wave
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

from handsfree.job.quantity import Quantity
from handsfree.language.automaton import Automaton
from handsfree.language.interpreter import Language
from handsfree.phone.page_run import CLOCK, CLOCK_WORDS
from handsfree.phone.page_second_pass import graph_name
from handsfree.recognition.close_calls import PAD_S
from handsfree.recognition.graph_compiler import Costs, compile_graph
from handsfree.recognition.lexicon import read_lexicon
from handsfree.recognition.mark_cues import NO_OTHER, WITHIN
from handsfree.recognition.recognizer import soft_noise
from handsfree.recognition.second_pass import NARROW_WORDS, grammar_of
from handsfree.recognition.speech_model import SpeechModel
from handsfree.recognition.voice_activity import VoiceActivitySettings
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.synthesis.tones import ToneKind, tone

TONE_RATE_HZ = 24_000
_WIDTH = 2  # bytes per sample


def model_archive(model: SpeechModel, language: Language) -> bytes:
    """Packs a speech model for the recognizer on the phone: a tar.gz of the folder 'model'.

    The folder 'narrow' in it has the graphs of the narrow grammars, each in a folder of its name:
    those of the second recognition, and those of the words said during a timed run. A graph with
    its own lattice beam has a text file 'lattice-beam' next to it.
    """
    with tempfile.TemporaryDirectory(prefix="handsfree-graph-") as folder:
        lexicon = read_lexicon(model.folder / "lexicon.txt")
        for name, (grammar, costs, beam) in _narrow_graphs(language):
            into = Path(folder) / "narrow" / name
            compile_graph(grammar, lexicon, costs).write(into / "graph")
            if beam is not None:
                (into / "lattice-beam").write_text(f"{beam}", encoding="utf-8")
        return _packed(model.folder, Path(folder))


def _narrow_graphs(
    language: Language,
) -> Iterator[tuple[str, tuple[Automaton, Costs, float | None]]]:
    marks = language.automaton("mark")
    yield CLOCK, (marks, Costs(), None)
    yield CLOCK_WORDS, (marks, NO_OTHER, WITHIN)
    for narrow in (*NARROW_WORDS, *Quantity):
        yield graph_name(narrow), grammar_of(narrow, language)


def noise() -> bytes:
    """The desktop's noise under every utterance, as long as the longest (32-bit floats)."""
    longest_s = VoiceActivitySettings().longest_s + 2 * PAD_S
    return soft_noise(round(longest_s * SAMPLE_RATE_HZ)).astype("<f4").tobytes()


def tones() -> dict[str, bytes]:
    """The tones of the desktop as WAV files, by their name."""
    return {f"tone-{kind}.wav": _wav(kind) for kind in get_args(ToneKind)}


def _wav(kind: ToneKind) -> bytes:
    content = io.BytesIO()
    with wave.open(content, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(_WIDTH)
        out.setframerate(TONE_RATE_HZ)
        out.writeframes(tone(kind, TONE_RATE_HZ).astype("<i2").tobytes())
    return content.getvalue()


def _packed(*folders: Path) -> bytes:
    packed = io.BytesIO()
    with (
        gzip.GzipFile(fileobj=packed, mode="wb", mtime=0) as stream,
        tarfile.open(fileobj=stream, mode="w", format=tarfile.USTAR_FORMAT) as archive,
    ):
        for folder in folders:
            for path in sorted(folder.rglob("*")):
                if path.is_file():
                    content = path.read_bytes()
                    entry = tarfile.TarInfo(f"model/{path.relative_to(folder).as_posix()}")
                    entry.size = len(content)
                    archive.addfile(entry, io.BytesIO(content))
    return packed.getvalue()
