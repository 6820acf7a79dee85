"""Acoustic stopwatch: onsets of marks on the audio clock, and the times between them."""
