"""Sound in and out: devices, capture, playback, levels and sound files."""
