"""Where the lap runs in the photograph."""
