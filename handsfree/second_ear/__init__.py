"""A second, independent recognizer that checks values and transcribes free words.

It proposes nothing. Its result is compared with what was heard before, or stored as text
(docs/second-ear.md).
"""
