"""Trains the speech model that ships with handsfree; nothing else in the package imports it.

``prepare`` gathers recordings, texts and voices into one folder, which can be copied to a machine
with a GPU. ``natural`` and ``robots`` make the speech there, and ``train`` writes the acoustic
model. docs/speech-model.md has the recipe and the commands.
"""
