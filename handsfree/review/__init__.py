"""The journal shown to people: the summary of a visit."""
