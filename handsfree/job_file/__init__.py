"""Reads a job file (TOML) into the records of a job."""
