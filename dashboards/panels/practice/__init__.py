"""The page Practice and its parts."""
