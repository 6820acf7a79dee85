"""Fixtures for the tests of sound input and output."""

from tests.speech_fixtures import synthesize

__all__ = ["synthesize"]
