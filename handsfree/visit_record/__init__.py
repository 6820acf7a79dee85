"""The record of a visit: one fold over the events, of which all else is a view."""
