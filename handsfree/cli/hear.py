"""handsfree hear: what the tool would have understood of recorded utterances."""

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

from handsfree.audio.sound_files import read_sound
from handsfree.cli.terminal import echo, new_console
from handsfree.cli.visit_setup import language_option
from handsfree.errors import SoundError
from handsfree.language.interpreter import Language
from handsfree.language.meaning import MEANING
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ

if TYPE_CHECKING:
    from handsfree.recognition.recognizer import Recognized, Recognizer


@dataclass(frozen=True)
class Hearing:
    """One file: what was heard in it, what that means, how long it is."""

    file: Path
    recognized: Recognized
    meaning: dict[str, Any] | None
    seconds: float

    def as_json(self) -> str:
        """One line."""
        words = [
            {"word": word.word, "start": word.start_s, "end": word.end_s}
            for word in self.recognized.words
        ]
        fields = {
            "file": str(self.file),
            "text": self.recognized.text,
            "meaning": self.meaning,
            "words": words,
            "seconds": round(self.seconds, 3),
        }
        return json.dumps(fields, ensure_ascii=False)


LONGEST_S = 600.0
"""A file is taken as one utterance, which nobody makes longer."""


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a file, one a line.")
@click.option(
    "--model",
    "folder",
    type=click.Path(path_type=Path),
    help="Speech model folder; without it HANDSFREE_MODEL, the settings, or the shipped one.",
)
@language_option
def hear(files: tuple[Path, ...], as_json: bool, folder: Path | None, language: str) -> None:
    """Prints what is heard in sound files, each taken as one utterance (10 minutes at most).

    The meaning is what the conversation would act on: null, or 'not understood', when
    the words are no sentence of the grammar. A file that cannot be read is named after
    the others are done.

    \b
    Example:
      handsfree hear reading.flac answer.wav --json
    """
    from handsfree.recognition.recognizer import VoskRecognizer  # slow to import

    spoken = Language.load(language=language)
    recognizer = VoskRecognizer(SpeechModel.load(folder, language), spoken.automaton())
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
    """Hears the files one after the other; puts what cannot be read into ``errors``."""
    for file in files:
        try:
            samples = read_sound(file, LONGEST_S)
        except SoundError as error:
            errors.append(error)
            continue
        recognized = recognizer.recognize(samples)
        meaning = language.parse(recognized.text)
        yield Hearing(
            file=file,
            recognized=recognized,
            meaning=None
            if meaning is None
            else MEANING.dump_python(meaning, mode="json", exclude_none=True),
            seconds=len(samples) / SAMPLE_RATE_HZ,
        )


def _table(hearings: list[Hearing]) -> Table:
    table = Table("File", "Heard", "Meaning", "Seconds")
    for hearing in hearings:
        fields = hearing.meaning or {}
        table.add_row(
            escape(str(hearing.file)),
            escape(hearing.recognized.text or "(nothing)"),
            " ".join(str(value) for value in fields.values()) or "not understood",
            f"{hearing.seconds:.2f}",
        )
    return table
