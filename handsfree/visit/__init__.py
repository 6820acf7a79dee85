"""Runs a visit from beginning to end: the outer layer around the pure conversation."""
