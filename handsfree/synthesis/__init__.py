"""Turns text into sound: the voice in a separate process, tones, and the mouth."""
