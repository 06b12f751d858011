"""Bank cards, business cards and cards of measured size."""
