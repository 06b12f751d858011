"""The record as the builder sees it."""
