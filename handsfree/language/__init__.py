"""The grammar and its meanings, and the words and numbers of each language."""
