"""Procedures as data files, and the selection of a job's tasks."""
