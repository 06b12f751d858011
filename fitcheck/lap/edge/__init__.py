"""The plank's edge on the strip."""
