"""The lap line or witness line on the strip."""
