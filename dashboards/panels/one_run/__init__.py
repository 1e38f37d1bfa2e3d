"""The page One run and its tabs."""
