"""The slit of an open lap, in light."""
