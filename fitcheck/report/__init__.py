"""The answer as the builder sees it: table, picture, chart, report page and planing ticket."""
