"""The owner's daily walk of one door as a page for a phone, saved as a visit."""
