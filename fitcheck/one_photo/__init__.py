"""One photograph measured: the edge against its line, the open lap, a seam."""
