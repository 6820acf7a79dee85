"""The journal of a visit: its events, the append-only file, and integrity checks."""
