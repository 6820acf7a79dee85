"""A visit from its beginning to its end: the shell around the pure conversation."""
