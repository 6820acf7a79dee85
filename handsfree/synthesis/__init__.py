"""Text to sound: the speaking voice in its own process, tones, and the mouth."""
