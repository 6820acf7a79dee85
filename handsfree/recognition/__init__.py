"""From sound to words: voice activity, the recognizer, its graph, lexicon and model."""
