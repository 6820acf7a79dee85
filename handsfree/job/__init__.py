"""The known facts about the door: opening, leaves, motors, readings, facts, findings."""
