"""An edge-on photograph looked at: corners, scale, gap and step."""
