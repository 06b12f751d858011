"""Straight sides fitted to a fraction of a pixel."""
