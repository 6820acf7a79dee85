"""Trains the speech model that ships with handsfree; nothing else in the package imports it.

``prepare`` gathers recordings, texts and voices into one folder, which may travel to a
machine with a GPU; ``train`` reads the texts aloud there, learns, and writes the acoustic
model. docs/speech-model.md has the recipe and the commands.
"""
