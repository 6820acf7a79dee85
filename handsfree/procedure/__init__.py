"""Procedures as data files, and the choice of the next step."""
