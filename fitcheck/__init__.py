"""fitcheck: does the plank land on its lap line, and where to plane it, measured from photographs."""

__version__ = "0.1.0"
