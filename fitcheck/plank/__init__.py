"""Many photographs of one plank, chained by station cards into one measurement."""
