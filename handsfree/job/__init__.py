"""What is known of the door: opening, leaves, motors, readings, facts, findings."""
