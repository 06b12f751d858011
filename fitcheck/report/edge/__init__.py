"""The edge's answer as the builder sees it."""
