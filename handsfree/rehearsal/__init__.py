"""A door and a technician that exist only as numbers and sound."""
