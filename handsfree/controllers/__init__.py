"""The guide of a controller: its set-up, learn cycle, settings and codes, worked out for a door."""
