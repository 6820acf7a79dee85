"""A second, independent recognizer that checks values and transcribes free words.

It proposes nothing. Its result is compared with the first recognizer's, or stored as text
(docs/second-ear.md).
"""
