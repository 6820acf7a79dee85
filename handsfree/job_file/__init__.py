"""Loads job files (TOML) into the records of a job."""
