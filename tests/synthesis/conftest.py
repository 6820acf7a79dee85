"""Fixtures of the tests of the speaking voice."""

from tests.speech_fixtures import voice

__all__ = ["voice"]
