"""The recognizer of the questions before a visit: numbers of a list, spelled names, few words."""

from __future__ import annotations

from handsfree.language.interpreter import Language
from handsfree.recognition.constrained_retry import READ_BACK
from handsfree.recognition.grammar_model import recognizer_for
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel

RULE = "before"
"""The public rule of everything that can be said there."""


def before_visit_recognizer(language: Language) -> VoskRecognizer:
    """Opens the recognizer of a language, with the model of a visit. Raises ModelError."""
    model = SpeechModel.load(language=language.wording.language)
    model.require_words(language.words(RULE))
    automaton = language.automaton(RULE)
    if model.kind == "dynamic":
        return VoskRecognizer(model, automaton)
    return recognizer_for(model, automaton, READ_BACK)
