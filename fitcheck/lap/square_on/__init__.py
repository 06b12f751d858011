"""A square-on photograph looked at: course, edge and line together."""
