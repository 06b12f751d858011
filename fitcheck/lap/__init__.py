"""The lap in one photograph: the straightened strip, the edge, the line and the open lap."""
