"""A visit from beginning to end: the shell around the pure conversation."""
