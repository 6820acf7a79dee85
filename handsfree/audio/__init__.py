"""Sound in and out: devices, capture, playback, levels, sound files."""
