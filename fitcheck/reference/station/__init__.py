"""Station cards."""
