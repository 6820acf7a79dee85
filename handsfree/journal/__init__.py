"""Events, their append-only file, and the state folded from them."""
