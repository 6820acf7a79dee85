"""The visit's journal: its events, their append-only file, and integrity checks."""
