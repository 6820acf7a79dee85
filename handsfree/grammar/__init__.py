"""What can be said and what it means; words and numbers for reading back."""
