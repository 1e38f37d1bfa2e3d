"""The page Show and hear and its parts."""
