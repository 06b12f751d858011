"""Pictures: the file, the photograph as a person sees it, what identifies its camera, focus."""
