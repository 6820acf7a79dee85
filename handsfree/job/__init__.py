"""The records of a job: opening, leaves, motors, readings, facts, findings."""
