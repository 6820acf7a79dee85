"""Rehearsals: visits with a simulated door and a simulated technician."""
