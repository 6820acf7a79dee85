"""Rehearsals: a door and a technician that exist only as numbers and sound."""
