"""Controller guides: set-up, learn cycle, settings and codes, worked out for a door."""
