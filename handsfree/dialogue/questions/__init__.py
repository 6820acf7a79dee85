"""The questions that can wait for an answer, one file each."""
