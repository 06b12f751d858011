"""The fit record: every dry fit of every plank, in one SQLite file beside the hull's settings.

Rooms: ``store`` opens the file, ``migrations`` holds its schema, ``recording`` writes a fit, ``queries`` reads, and a
file each does what the commands of ``fitcheck log`` are named for.
"""
