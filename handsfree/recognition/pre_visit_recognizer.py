"""The recognizer for questions before a visit: numbers of a list, spelled names, a few words."""

from __future__ import annotations

from handsfree.language.interpreter import Language
from handsfree.recognition.constrained_retry import READ_BACK
from handsfree.recognition.grammar_model import recognizer_for
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel

RULE = "before"
"""The public grammar rule for everything that can be said before a visit."""


def before_visit_recognizer(language: Language) -> VoskRecognizer:
    """Opens the recognizer for a language, with the model used in visits. Raises ModelError."""
    model = SpeechModel.load(language=language.wording.language)
    model.require_words(language.words(RULE))
    automaton = language.automaton(RULE)
    if model.kind == "dynamic":
        return VoskRecognizer(model, automaton)
    return recognizer_for(model, automaton, READ_BACK)
