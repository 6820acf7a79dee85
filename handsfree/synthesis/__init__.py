"""From words to sound: the speaking voice in a process of its own, tones, and the mouth."""
