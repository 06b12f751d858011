"""The hull's settings file and the names of its planks."""
