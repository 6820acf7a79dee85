"""Decodes an utterance a second time, with recognizers on this machine."""

from __future__ import annotations

from functools import cached_property
from pathlib import Path

from handsfree.language.interpreter import Language
from handsfree.recognition.close_calls import Alternative
from handsfree.recognition.grammar_model import recognizer_for
from handsfree.recognition.recognizer import Samples, VoskRecognizer
from handsfree.recognition.second_pass import (
    AT_ONCE,
    CODE,
    LONGEST_READING_S,
    LONGEST_S,
    READ_BACK,
    READING,
    WITHIN,
    NarrowGrammar,
    SecondPass,
    grammar_of,
)
from handsfree.recognition.speech_model import SpeechModel

__all__ = [
    "AT_ONCE",
    "CODE",
    "LONGEST_READING_S",
    "LONGEST_S",
    "READING",
    "READ_BACK",
    "WITHIN",
    "ConstrainedRetry",
]


class ConstrainedRetry(SecondPass[Samples]):
    """A second pass with a narrow grammar; it opens the model on first use.

    A dynamic model has no cost for other speech, so it gets no second pass. Only the last grammar
    stays open: each takes 31 MB, since Vosk loads the acoustic model with it, and 0.15 to 0.3 s of
    processor time. One is enough, because steps come one after another.
    """

    def __init__(self, language: Language, folder: Path | str | None = None) -> None:
        super().__init__(language.parse)
        self._language, self._folder = language, folder
        self._opened: tuple[NarrowGrammar, VoskRecognizer] | None = None

    def alternatives(
        self, sound: Samples, narrow: NarrowGrammar, most: int
    ) -> tuple[Alternative, ...]:
        """Lists up to ``most`` alternatives of one whole utterance (mono, 16 kHz), likeliest first.

        Empty for a dynamic model. Raises ModelError if the model cannot be opened.
        """
        if self._model.kind == "dynamic":
            return ()
        if self._opened is None or self._opened[0] != narrow:
            self._opened = None  # before another is loaded beside it
            grammar, costs, beam = grammar_of(narrow, self._language)
            opened = recognizer_for(self._model, grammar, costs, lattice_beam=beam)
            self._opened = narrow, opened
        return self._opened[1].alternatives(sound, most)

    @cached_property
    def _model(self) -> SpeechModel:
        return SpeechModel.load(self._folder, self._language.wording.language)
