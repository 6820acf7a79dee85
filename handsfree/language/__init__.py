"""The grammar and its meanings, and the spoken words and numbers of each language."""
