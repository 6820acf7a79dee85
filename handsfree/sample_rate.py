"""The one sample rate of all sound that is heard, timed or kept."""

from __future__ import annotations

SAMPLE_RATE_HZ = 16_000
"""Samples per second of the mono 16-bit sound that is recognized, timed and kept as clips."""
