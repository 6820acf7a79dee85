"""What can be said and what it means, and the words and numbers that are spoken."""
