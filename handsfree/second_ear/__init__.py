"""A second, independent recognizer: it checks values and types up free words (docs/second-ear.md).

It proposes nothing. What it hears is compared with what was heard before, or kept as text.
"""
