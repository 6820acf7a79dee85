"""Fixtures of the tests of sound in and out."""

from tests.speech_fixtures import synthesize

__all__ = ["synthesize"]
