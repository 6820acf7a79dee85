"""Fixtures for the tests of the speaking voice."""

from tests.speech_fixtures import recognizer, synthesize, voice

__all__ = ["recognizer", "synthesize", "voice"]
