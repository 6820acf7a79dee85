"""Fixtures for the tests of recognition."""

from tests.speech_fixtures import people, recognizer, synthesize, voice

__all__ = ["people", "recognizer", "synthesize", "voice"]
