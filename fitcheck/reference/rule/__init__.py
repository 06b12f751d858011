"""Steel rules."""
