"""Ears and mouth: sound in, recognised words out; words in, sound out."""
