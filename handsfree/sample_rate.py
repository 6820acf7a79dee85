"""The common sample rate of all sound that is recognized, timed or stored."""

from __future__ import annotations

SAMPLE_RATE_HZ = 16_000
"""Samples per second of the mono 16-bit sound that is recognized, timed and stored as clips."""
