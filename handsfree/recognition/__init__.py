"""Turns sound into words: voice activity, recognizer, graph, lexicon and model."""
