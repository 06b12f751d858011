"""The camera: the printed board, its corners, the solution, its quality and its file."""
