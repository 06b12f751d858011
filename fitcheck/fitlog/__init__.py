"""The record of every dry fit of every plank."""
