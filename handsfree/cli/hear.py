"""Prints what is understood of recorded utterances: ``handsfree hear``."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from rich.markup import escape
from rich.progress import track
from rich.table import Table

from handsfree.audio.sound_files import LongSound
from handsfree.cli.console import new_console
from handsfree.cli.terminal import echo
from handsfree.cli.visit_setup import language_option
from handsfree.errors import SoundError
from handsfree.language.interpreter import Language
from handsfree.language.meaning import MEANING
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ

if TYPE_CHECKING:
    from handsfree.recognition.heard_words import Recognized
    from handsfree.recognition.recognizer import Recognizer


@dataclass(frozen=True)
class Hearing:
    """One utterance: the words heard, their meaning, its length in seconds.

    ``start_s`` is its start in a file that holds more than one.
    """

    file: Path
    recognized: Recognized
    meaning: dict[str, Any] | None
    seconds: float
    start_s: float | None = None

    def as_json(self) -> str:
        """One line."""
        words = [
            {"word": word.word, "start": word.start_s, "end": word.end_s}
            for word in self.recognized.words
        ]
        fields: dict[str, Any] = {
            "file": str(self.file),
            "text": self.recognized.text,
            "meaning": self.meaning,
            "words": words,
            "seconds": round(self.seconds, 3),
        }
        if self.start_s is not None:
            fields["start"] = round(self.start_s, 3)
        return json.dumps(fields, ensure_ascii=False)


LONGEST_S = 60.0
"""Longest file that counts as one utterance (s); a longer one is cut at its pauses."""


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print JSON, one utterance per line.")
@click.option(
    "--model",
    "folder",
    type=click.Path(path_type=Path),
    help="Speech model folder; without it HANDSFREE_MODEL, the settings, or the shipped one.",
)
@language_option
def hear(files: tuple[Path, ...], as_json: bool, folder: Path | None, language: str) -> None:
    """Prints what is understood of sound files.

    A file up to a minute long is one utterance. A longer one, of any length, is cut at its pauses
    as in a visit: each utterance has a line of its own, with its start.

    The meaning is what the conversation would act on: null, or 'not understood', if the words are
    not a sentence of the grammar. Files that cannot be read are reported at the end.

    \b
    Example:
      handsfree hear reading.flac answer.wav --json
    """
    from handsfree.recognition.recognizer import VoskRecognizer  # slow to import

    spoken = Language.load(language=language)
    recognizer = VoskRecognizer(
        SpeechModel.load(folder, language), spoken.automaton(), spoken.parse
    )
    errors: list[SoundError] = []
    if as_json:
        for hearing in hear_all(files, recognizer, spoken, errors):
            echo(hearing.as_json())
    else:
        watched = track(
            files,
            "Listening",
            console=new_console(stderr=True),
            transient=True,
            disable=len(files) < 2,
        )
        hearings = list(hear_all(watched, recognizer, spoken, errors))
        if hearings:
            new_console().print(_table(hearings))
    if errors:
        raise errors[0]


def hear_all(
    files: Iterable[Path],
    recognizer: Recognizer,
    language: Language,
    errors: list[SoundError],
) -> Iterator[Hearing]:
    """Recognizes the files in turn; adds those that cannot be read to ``errors``."""
    for file in files:
        try:
            sound = LongSound(file)
        except SoundError as error:
            errors.append(error)
            continue
        seconds = len(sound) / SAMPLE_RATE_HZ
        if seconds <= LONGEST_S:
            recognized = recognizer.recognize(sound.read(0, len(sound)))
            yield _hearing(file, recognized, language, seconds)
        else:
            yield from hear_long(file, sound, recognizer, language)


def hear_long(
    file: Path, sound: LongSound, recognizer: Recognizer, language: Language
) -> Iterator[Hearing]:
    """The utterances of a recording, cut as in a visit; a single empty one if there are none."""
    from handsfree.recognition.ears import RecordedEars  # both are slow to import
    from handsfree.recognition.heard_words import Recognized

    ears, heard_any = RecordedEars(sound, recognizer), False
    while (heard := ears.listen()) is not None:
        start_s, end_s = heard.start_s or 0.0, heard.end_s or 0.0
        recognized = Recognized(text=heard.text, words=heard.words)
        yield _hearing(file, recognized, language, end_s - start_s, start_s)
        heard_any = True
    if not heard_any:
        yield _hearing(file, Recognized(text=""), language, len(sound) / SAMPLE_RATE_HZ, 0.0)


def _hearing(
    file: Path,
    recognized: Recognized,
    language: Language,
    seconds: float,
    start_s: float | None = None,
) -> Hearing:
    meaning = language.parse(recognized.text)
    return Hearing(
        file=file,
        recognized=recognized,
        meaning=None
        if meaning is None
        else MEANING.dump_python(meaning, mode="json", exclude_none=True),
        seconds=seconds,
        start_s=start_s,
    )


def _table(hearings: list[Hearing]) -> Table:
    parted = any(hearing.start_s is not None for hearing in hearings)
    table = Table("File", *(["From"] if parted else []), "Heard", "Meaning", "Seconds")
    for hearing in hearings:
        fields = hearing.meaning or {}
        start = "" if hearing.start_s is None else f"{hearing.start_s:.2f}"
        table.add_row(
            escape(str(hearing.file)),
            *([start] if parted else []),
            escape(hearing.recognized.text or "(nothing)"),
            " ".join(str(value) for value in fields.values()) or "not understood",
            f"{hearing.seconds:.2f}",
        )
    return table
